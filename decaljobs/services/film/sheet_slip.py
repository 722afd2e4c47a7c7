"""The slip of a sheet, gathered from its records for the paper."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from itertools import groupby

from django.utils import timezone

from decaljobs.craft.paper.sheetslip import SheetSlip
from decaljobs.models import Piece, PieceState, Sheet
from decaljobs.services.words import say_date
from decaljobs.shown import for_everybody, ways


@for_everybody()
def sheet_slip(*, sheet: Sheet, address: str, moment: datetime) -> SheetSlip:
    """Everything the slip of a sheet says (1 query)."""
    pieces = sheet.pieces.select_related("decal__project").order_by(
        "decal__project", "decal__place", "decal__number", "copy"
    )
    groups = groupby(pieces, key=lambda piece: piece.decal)
    return SheetSlip(
        code=sheet.code,
        address=address,
        written=f"written {say_date(timezone.localdate(moment))}",
        facts=tuple(_facts(sheet, moment)),
        pieces=tuple((f"{decal.words}, {decal.project}", _good(rows)) for decal, rows in groups),
    )


def _facts(sheet: Sheet, moment: datetime) -> list[str]:
    size = ways().size(sheet.width_mm, sheet.height_mm)
    made = f"{sheet.get_film_display()} film for {sheet.get_printer_display()}, {size}"
    facts = [made, sheet.state_words(moment).capitalize()]
    if sheet.printed_at:
        facts.append(f"Printed {say_date(timezone.localdate(sheet.printed_at))}")
    return [*facts, sheet.note] if sheet.note else facts


def _good(rows: Iterable[Piece]) -> int:
    return sum(1 for piece in rows if piece.state == PieceState.GOOD)
