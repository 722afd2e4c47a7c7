"""Cutting the rest off a sheet: an offcut is a sheet of its own, with code and size."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from decimal import ROUND_DOWN, Decimal
from enum import StrEnum
from math import isfinite

from django.db import transaction

from decaljobs.craft.stages import Printer
from decaljobs.craft.ways import NO_BREAK
from decaljobs.models import Person, Piece, Sheet, SheetEvent
from decaljobs.models.sheets import SMALLEST_SIDE_MM
from decaljobs.services.codes import made_with_next_code
from decaljobs.services.film.sheetlog import append_sheet_event, lock_sheet
from decaljobs.services.refused import Refused
from decaljobs.shown import ways

TENTH = Decimal("0.1")
#: A hair's breadth that a place may reach over a cut by rounding, mm.
SLACK_MM = 0.05
#: How far from the last piece a cut is proposed, mm: room for scissors (common practice).
CLEAR_OF_MM = 3.0
#: What an offcut has from the sheet that it was cut from.
LIKE_ITS_SHEET = (
    *("film", "printer", "sealer", "coats_wanted", "margin_mm", "gap_mm"),
    *("room", "refeed_reason", "example"),
)


class Side(StrEnum):
    """Which end of the sheet is cut off, seen as it was printed."""

    FOOT = "foot"
    RIGHT = "right"


@transaction.atomic
def cut_off(
    *,
    sheet: int,
    side: Side,
    at_mm: float,
    by: Person,
    moment: datetime,
    seen: int | None = None,
) -> Sheet:
    """Cut the rest off a sheet, at_mm from its top (or left) edge; answers the offcut.

    Raises Refused where a piece lies in the way, too little would be left, the
    sheet is sealed, or laser film would be cut before it went through the fuser.
    """
    found = lock_sheet(sheet, seen=seen)
    _check_may_be_cut(found)
    old = (found.width_mm, found.height_mm)
    length = old[1] if side == Side.FOOT else old[0]
    kept = _kept_length(found, side, at_mm, length)
    rest = length - kept
    size = (old[0], rest) if side == Side.FOOT else (rest, old[1])
    offcut = made_with_next_code(
        Sheet.objects.all(),
        found.code[0],
        lambda code: _make_offcut(found, code, size, moment),
    )
    if side == Side.FOOT:
        found.height_mm = kept
    else:
        found.width_mm = kept
    figures = {"offcut": offcut.code, "width_mm": str(old[0]), "height_mm": str(old[1])}
    append_sheet_event(found, kind=SheetEvent.Kind.CUT, moment=moment, by=by, air=figures)
    found.save()
    return offcut


def _make_offcut(sheet: Sheet, code: str, size: tuple[Decimal, Decimal], moment: datetime) -> Sheet:
    like = {name: getattr(sheet, name) for name in LIKE_ITS_SHEET}
    return Sheet.objects.create(
        code=code, made_at=moment, width_mm=size[0], height_mm=size[1], cut_from=sheet, **like
    )


def rejoin(sheet: Sheet, event: SheetEvent) -> None:
    """Take back a cut (the sheet is not yet saved). Raises Refused once the offcut is in use."""
    code = event.air["offcut"]
    offcut = Sheet.objects.select_for_update().filter(code=code, cut_from=sheet).first()
    if offcut is None:
        raise Refused(f"Offcut {code} is no longer there.")
    if offcut.events_logged or offcut.is_lost or offcut.pieces.exists():
        raise Refused(f"Offcut {code} is in use: undo what was done with it first.")
    offcut.delete()
    sheet.width_mm = Decimal(event.air["width_mm"])
    sheet.height_mm = Decimal(event.air["height_mm"])


@transaction.atomic
def allow_refeeding(*, sheet: int, reason: str, by: Person) -> Sheet:
    """Keep the owner's word why laser film that was cut or fed may be fed again."""
    found = lock_sheet(sheet)
    if not by.is_owner:
        raise Refused("Only the owner says that a film may go through the fuser again.")
    if not reason.strip():
        raise Refused("Say why this film may go through the fuser again.")
    found.refeed_reason = f"{reason.strip()} ({by})"[:300]
    found.save(update_fields=["refeed_reason"])
    return found


def _check_may_be_cut(sheet: Sheet) -> None:
    if sheet.is_lost:
        raise Refused(f"Sheet {sheet.code} is lost.")
    if sheet.coats_done:
        raise Refused(
            f"Sheet {sheet.code} has a sealing coat on, and a sealed sheet takes no ink or toner: "
            "its rest is no use for another print."
        )
    if sheet.printer == Printer.LASER and not sheet.is_printed and not sheet.refeed_reason:
        raise Refused(
            f"Print laser sheet {sheet.code} first: film that was partly cut away must not meet "
            "the hot fuser."
        )


def _kept_length(sheet: Sheet, side: Side, at_mm: float, length: Decimal) -> Decimal:
    if not isfinite(at_mm):
        raise Refused("Write where the cut runs.")
    kept = Decimal(str(at_mm)).quantize(TENTH, ROUND_DOWN)
    least, most = Decimal(SMALLEST_SIDE_MM), length - SMALLEST_SIDE_MM
    if not least <= kept <= most:
        edge = "top" if side == Side.FOOT else "left"
        raise Refused(
            f"The cut must run {ways().short(least)} to {ways().short(most)}{NO_BREAK}"
            f"{ways().unit} from the {edge} edge of sheet {sheet.code}."
        )
    reach = used_to(sheet, side)
    if reach > float(kept) + SLACK_MM:
        raise Refused(
            f"A piece of sheet {sheet.code} reaches to {ways().length(reach)}: cut beyond that."
        )
    return kept


def may_be_cut(sheet: Sheet) -> bool:
    """Whether the rest of a sheet would be of use once cut off."""
    try:
        _check_may_be_cut(sheet)
    except Refused:
        return False
    return True


def suggested_cut(sheet: Sheet, pieces: Iterable[Piece]) -> tuple[Side, float]:
    """The straight cut that leaves the largest rest clear of the pieces: side and place, mm."""
    places = [place for piece in pieces if (place := piece.place)]
    foot = max((place.foot for place in places), default=0.0) + CLEAR_OF_MM
    right = max((place.right for place in places), default=0.0) + CLEAR_OF_MM
    wide, high = float(sheet.width_mm), float(sheet.height_mm)
    if (high - foot) * wide >= (wide - right) * high:
        return Side.FOOT, round(min(foot, high), 1)
    return Side.RIGHT, round(min(right, wide), 1)


def used_to(sheet: Sheet, side: Side) -> float:
    """How far from the top (or left) edge the placed pieces of a sheet reach, mm (one query)."""
    places = [place for piece in sheet.pieces.placed() if (place := piece.place)]
    ends = (place.foot if side == Side.FOOT else place.right for place in places)
    return max(ends, default=0.0)
