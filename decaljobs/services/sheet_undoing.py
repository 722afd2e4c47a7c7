"""Taking back the last thing logged on a sheet, with what it did to the decals on it."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from decaljobs.craft.stages import Build, Stage, reached_on_sheets
from decaljobs.models import Decal, Person, PieceState, Sheet, SheetEvent
from decaljobs.services.logbook import MOVES, How
from decaljobs.services.outlooks import good_pieces, refresh
from decaljobs.services.refused import Refused
from decaljobs.services.sheets import append_sheet_event, decals_on, lock_sheet, settle_sheet
from decaljobs.services.undoing import take_back

ON_SHEETS = [Stage.PLANNED, Stage.PRINTED, Stage.SEALED]


@transaction.atomic
def undo_sheet(*, sheet: int, by: Person, moment: datetime, seen: int | None = None) -> SheetEvent:
    """Take back the last print or coat of a sheet. Raises Refused once a piece of it is laid."""
    found = lock_sheet(sheet, seen=seen)
    last = found.events.in_force().order_by("-number").first()
    if last is None:
        raise Refused(f"Nothing is logged on sheet {found.code} that could be undone.")
    _refuse_when_worked_on(found, last)
    undo = append_sheet_event(
        found, SheetEvent.Kind.UNDO, moment, moment, by, coat=last.coat, undoes=last
    )
    _stand_where_log_says(found)
    found.save()
    decals = decals_on(found)
    pieces = good_pieces(decals)
    for decal in decals:
        reached = reached_on_sheets(Build(decal.build), pieces.get(decal.pk, []))
        _fall_back(decal, reached, undo)
    refresh(decals)
    return undo


def _refuse_when_worked_on(sheet: Sheet, last: SheetEvent) -> None:
    laid = sheet.pieces.filter(state=PieceState.USED).select_related("decal").first()
    if laid is not None:
        raise Refused(
            f"A piece of sheet {sheet.code} lies on the model ({laid.decal.words}): "
            "undo that step first."
        )
    spoiled = sheet.pieces.filter(state=PieceState.SPOILED).select_related("decal").first()
    if spoiled is not None and last.kind == SheetEvent.Kind.PRINTED:
        raise Refused(
            f"A piece of sheet {sheet.code} is logged as spoiled ({spoiled.decal.words}): "
            "undo that first."
        )


def _stand_where_log_says(sheet: Sheet) -> None:
    """Set a sheet (not yet saved) to where the lines in force have brought it."""
    events = list(sheet.events.in_force().order_by("number"))
    last = events[-1] if events else None
    sheet.printed_at = events[0].at if events else None
    sheet.coats_done = last.coat if last else 0
    sheet.worked_at = last.at if last else None
    sheet.wait = last.wait if last else None
    settle_sheet(sheet)


def _fall_back(decal: Decal, reached: Stage, undo: SheetEvent) -> None:
    """Undo what a decal owes to the sheet, back to the stage its sheets still bear out."""
    while decal.stage in ON_SHEETS and ON_SHEETS.index(Stage(decal.stage)) > ON_SHEETS.index(
        reached
    ):
        last = decal.events.in_force().filter(kind__in=MOVES).order_by("-number").first()
        if last is None or last.how != How.SHEET:
            raise Refused(f"{decal.words} was worked on since: undo that first.")
        take_back(decal, last, by=undo.by, moment=undo.logged_at, sheet_event=undo)
