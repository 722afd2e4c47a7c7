"""A lost or ruined sheet: every good piece on it is spoiled, and each decal's log says so."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from decaljobs.craft.stages import Stage
from decaljobs.models import Person, Piece, PieceState, Sheet, SheetEvent, StageEvent
from decaljobs.services.bench import logbook
from decaljobs.services.bench.logbook import How, Kind
from decaljobs.services.bench.outlooks import refresh
from decaljobs.services.bench.taking_back import take_back
from decaljobs.services.film.sheetlog import append_sheet_event, decals_on, lock_sheet
from decaljobs.services.refused import Refused


@transaction.atomic
def lose_sheet(
    *, sheet: int, by: Person, moment: datetime, reason: str = "", seen: int | None = None
) -> SheetEvent:
    """Log that a whole sheet is lost or ruined. Raises Refused when it is lost already."""
    found = lock_sheet(sheet, seen=seen)
    if found.is_lost:
        raise Refused(f"Sheet {found.code} is logged as lost already.")
    on_it = decals_on(found)
    found.lost_at = moment
    event = append_sheet_event(
        found, kind=SheetEvent.Kind.LOST, moment=moment, by=by, reason=reason.strip()
    )
    found.save()
    good: dict[int, list[Piece]] = {}
    for piece in found.pieces.good():
        good.setdefault(piece.decal_id, []).append(piece)
    found.pieces.good().update(state=PieceState.SPOILED)
    decals = [decal for decal in on_it if decal.pk in good]
    for decal in decals:
        logbook.append(
            decal,
            kind=Kind.PIECE_SPOILED,
            how=How.SHEET,
            to_stage=Stage(decal.stage),
            at=moment,
            moment=moment,
            by=by,
            reason=reason.strip() or f"sheet {found.code} is lost",
            pieces=good[decal.pk],
            sheet_event=event,
        )
    refresh(decals)
    return event


def find_again(sheet: Sheet, event: SheetEvent, undo: SheetEvent) -> None:
    """Take back a loss: the sheet's pieces are good again."""
    sheet.lost_at = None
    sheet.save()
    lines = StageEvent.objects.in_force().filter(sheet_event=event)
    by_decal = {line.decal_id: line for line in lines}
    decals = [decal for decal in decals_on(sheet) if decal.pk in by_decal]
    for decal in decals:
        line = by_decal[decal.pk]
        take_back(decal, line, by=undo.by, moment=undo.logged_at, sheet_event=undo)
    refresh(decals)
