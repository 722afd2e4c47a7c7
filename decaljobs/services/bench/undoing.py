"""Taking back the last thing logged on a decal, by one more line in its log."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from django.db import transaction

from decaljobs.craft.stages import Stage
from decaljobs.models import Decal, Person, Piece, PieceState, SheetEvent, StageEvent
from decaljobs.services.bench import logbook
from decaljobs.services.bench.logbook import How, Kind
from decaljobs.services.bench.outlooks import refresh
from decaljobs.services.refused import Refused
from decaljobs.services.stores import stock


@transaction.atomic
def undo_last(*, decal: int, by: Person, moment: datetime, seen: int | None = None) -> StageEvent:
    """Take back the last line of a decal's log. Raises Refused or Overtaken."""
    (locked,) = logbook.lock([decal])
    logbook.check_seen(locked, seen, now=moment)
    last = logbook.last_in_force(locked)
    if last is None:
        raise Refused(f"Nothing is logged on {locked.words} that could be undone.")
    if last.sheet_event is not None:
        raise Refused(
            f"‘{last.words}’ was logged on sheet {last.sheet_event.sheet.code}: undo it there."
        )
    undo = take_back(locked, last, by=by, moment=moment)
    _take_back_drying(locked, by=by, moment=moment)
    refresh([locked])
    return undo


@transaction.atomic
def undo_together(
    *, decals: Iterable[int], by: Person, moment: datetime, seen: Mapping[int, int]
) -> list[StageEvent]:
    """Take back the last line of each of these decals' logs, all or none. Raises Refused."""
    wanted = sorted(set(decals))
    logbook.lock(wanted)
    return [undo_last(decal=pk, by=by, moment=moment, seen=seen.get(pk)) for pk in wanted]


def take_back(
    decal: Decal,
    event: StageEvent,
    *,
    by: Person | None,
    moment: datetime,
    sheet_event: SheetEvent | None = None,
) -> StageEvent:
    """Add the undo of an event and restore the pieces it touched; the decal is not yet saved."""
    pieces = list(event.pieces.all())
    back = PieceState.USED if event.kind == Kind.SPOILED else PieceState.GOOD
    Piece.objects.filter(pk__in=[piece.pk for piece in pieces]).update(state=back)
    undo = logbook.append(
        decal,
        kind=Kind.UNDO,
        to_stage=Stage(event.from_stage),
        at=moment,
        moment=moment,
        by=by,
        pieces=pieces,
        sheet_event=sheet_event,
        undoes=event,
    )
    logbook.stand_where_log_says(decal)
    stock.give_back(by=by, moment=moment, stage=event.pk)
    return undo


def _take_back_drying(decal: Decal, *, by: Person, moment: datetime) -> None:
    """Drying written down on the way to the undone step goes with it: the clock decides anew."""
    last = logbook.last_in_force(decal)
    while last is not None and last.kind == Kind.STEP and last.how in (How.CLOCK, How.EARLY):
        if last.to_stage not in (Stage.CURED, Stage.SET):
            return
        take_back(decal, last, by=by, moment=moment)
        last = logbook.last_in_force(decal)
