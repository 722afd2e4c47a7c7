"""One more line in a decal's log that takes an earlier one back."""

from __future__ import annotations

from datetime import datetime

from decaljobs.craft.stages import Stage
from decaljobs.models import Decal, Person, Piece, PieceState, SheetEvent, StageEvent
from decaljobs.services.bench import logbook
from decaljobs.services.bench.logbook import MOVES, Kind
from decaljobs.services.stores import stock


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
        # What moves no decal along may be taken back after it has moved.
        to_stage=Stage(event.from_stage if event.kind in MOVES else decal.stage),
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
