"""Taking back the last thing logged on a decal, by one more line in its log."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from django.db import transaction

from decaljobs.craft.stages import DRIED_STAGES
from decaljobs.models import Decal, Person, StageEvent
from decaljobs.services.bench import logbook
from decaljobs.services.bench.logbook import How, Kind
from decaljobs.services.bench.outlooks import refresh
from decaljobs.services.bench.taking_back import take_back
from decaljobs.services.film import lending
from decaljobs.services.refused import Refused


@transaction.atomic
def undo_last(*, decal: int, by: Person, moment: datetime, seen: int | None = None) -> StageEvent:
    """Take back the last line of a decal's log. Raises Refused or Overtaken."""
    if lending.is_lent(decal=decal, seen=seen):
        return lending.give_back(decal=decal, by=by, moment=moment)
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


def _take_back_drying(decal: Decal, *, by: Person, moment: datetime) -> None:
    """Drying written down on the way to the undone step goes with it: the clock decides anew."""
    last = logbook.last_in_force(decal)
    while last is not None and last.kind == Kind.STEP and last.how in (How.CLOCK, How.EARLY):
        if last.to_stage not in DRIED_STAGES:
            return
        take_back(decal, last, by=by, moment=moment)
        last = logbook.last_in_force(decal)
