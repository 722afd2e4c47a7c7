"""Taking back the last thing logged on a sheet, with what it did to the decals on it."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from decaljobs.craft.outlook import reached_on_sheets
from decaljobs.craft.stages import Build, Stage
from decaljobs.models import Decal, Person, PieceState, Sheet, SheetEvent
from decaljobs.services.bench.logbook import MOVES, How, room_from, stays_from_moves, stays_since
from decaljobs.services.bench.outlooks import good_pieces, refresh
from decaljobs.services.bench.taking_back import take_back
from decaljobs.services.drying.air import Airs
from decaljobs.services.film.lost_sheets import find_again
from decaljobs.services.film.offcuts import rejoin
from decaljobs.services.film.sheetlog import (
    ON_SHEETS,
    WORK,
    append_sheet_event,
    decals_on,
    lock_sheet,
    settle_sheets,
)
from decaljobs.services.refused import Refused
from decaljobs.services.stores import stock

Kind = SheetEvent.Kind


@transaction.atomic
def undo_sheet(*, sheet: int, by: Person, moment: datetime, seen: int | None = None) -> SheetEvent:
    """Take back the last print or coat of a sheet. Raises Refused once a piece of it is laid."""
    found = lock_sheet(sheet, seen=seen)
    last = found.events.in_force().order_by("-number").first()
    if last is None:
        raise Refused(f"Nothing is logged on sheet {found.code} that could be undone.")
    if last.kind in WORK:
        _refuse_when_worked_on(found, last)
    undo = append_sheet_event(
        found, kind=Kind.UNDO, moment=moment, by=by, coat=last.coat, undoes=last
    )
    stock.give_back(by=by, moment=moment, sheet=last.pk)
    if last.kind in (Kind.CUT, Kind.LOST):
        return _take_back_mishap(found, last, undo)
    airs = Airs()
    stand_where_sheet_log_says(found, airs)
    found.save()
    decals = decals_on(found)
    pieces = good_pieces(decals)
    for decal in decals:
        reached = reached_on_sheets(Build(decal.build), pieces.get(decal.pk, []))
        _fall_back(decal, reached, undo)
    refresh(decals, airs)
    return undo


def _take_back_mishap(sheet: Sheet, last: SheetEvent, undo: SheetEvent) -> SheetEvent:
    """A cut or a loss moves no decal along, so nothing falls back with it."""
    if last.kind == Kind.CUT:
        rejoin(sheet, last)
    else:
        find_again(sheet, last, undo)
    sheet.save()
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


def stand_where_sheet_log_says(sheet: Sheet, airs: Airs) -> None:
    """Set a sheet (not yet saved) to where the lines in force have brought it."""
    lines = list(sheet.events.in_force().order_by("number"))
    work = [line for line in lines if line.kind in WORK]
    moves = [line for line in lines if line.kind == Kind.MOVED]
    sheet.room_id = room_from(moves, lines, sheet.room_id)
    sheet.printed_at = work[0].at if work else None
    sheet.coats_done = work[-1].coat if work else 0
    sheet.stays = stays_from_moves(moves)
    sheet.worked_at, sheet.wait, sheet.rested_at = None, None, None
    if work:
        last = work[-1]
        sheet.worked_at, sheet.wait = last.at, last.wait
        sheet.stays = stays_since(last.at, last.room_id, sheet.stays)
        _dry_as_tested(sheet, [line for line in lines if line.number > last.number])
    settle_sheets([sheet], airs)


def _dry_as_tested(sheet: Sheet, lines: list[SheetEvent]) -> None:
    """What touch tests and changed rules have made of the wait since it began."""
    for line in lines:
        if line.kind == Kind.DRY:
            sheet.wait, sheet.rested_at = None, line.at
        elif line.kind in (Kind.NOT_YET, Kind.RULE):
            sheet.wait = line.wait


def _fall_back(decal: Decal, reached: Stage, undo: SheetEvent) -> None:
    """Undo what a decal owes to the sheet, back to the stage its sheets still bear out."""
    while decal.stage in ON_SHEETS and ON_SHEETS.index(Stage(decal.stage)) > ON_SHEETS.index(
        reached
    ):
        last = decal.events.in_force().filter(kind__in=MOVES).order_by("-number").first()
        if last is None or last.how != How.SHEET:
            raise Refused(f"{decal.words} was worked on since: undo that first.")
        take_back(decal, last, by=undo.by, moment=undo.logged_at, sheet_event=undo)
