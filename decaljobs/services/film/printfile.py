"""The print file of a sheet, gathered from its records for the paper."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet
from django.utils import timezone

from decaljobs.craft.film.freeplace import free_for_qr
from decaljobs.craft.layout.place import Place, Ring
from decaljobs.craft.paper.printfile import (
    BaseArt,
    PrintPiece,
    PrintSheet,
    band_strip,
    frame,
    grown,
)
from decaljobs.craft.stages import Build, Film
from decaljobs.models import Measuring, Piece, Sheet
from decaljobs.services.artwork.pictures import picture_bytes
from decaljobs.services.film.offcuts import Side, suggested_cut
from decaljobs.services.film.printer_fits import factors_for
from decaljobs.services.film.sheetlog import refuse_lost
from decaljobs.services.film.sheets import NOT_FED
from decaljobs.services.refused import Refused
from decaljobs.services.words import say_date
from decaljobs.shown import for_everybody

#: How far outside a picture that was not measured its cut guide runs, mm: the clear cut's margin;
#: at most half the gap, so that no guide runs beyond the middle between two pieces.
GUIDE_OUTSIDE = 1.0
#: Nothing of a nested picture is printed further outside its outline, mm: its neighbour is near.
CLIP_OUTSIDE = 0.3
#: How far a place may reach over the sheet's edge by rounding, mm.
SLACK_MM = 0.05


@dataclass(frozen=True)
class PrintWishes:
    """How a sheet is to be printed: what of the art on white film, and which helping lines."""

    base_art: BaseArt = BaseArt.FULL
    guides: bool = False
    ticks: bool = True


@for_everybody()
def print_sheet(*, sheet: Sheet, wishes: PrintWishes, address: str, moment: datetime) -> PrintSheet:
    """Everything the print file of a sheet holds (4 queries). Raises Refused."""
    pieces = list(pieces_of(sheet))
    _check_can_be_printed(sheet, pieces)
    measured = measured_art({piece.decal.artwork_id for piece in pieces})
    art = {piece.decal.artwork_id: piece.decal.artwork for piece in pieces}
    pictures = {pk: picture_bytes(found) for pk, found in art.items()}
    x_factor, y_factor = factors_for(sheet)
    day = say_date(timezone.localdate(moment))
    return PrintSheet(
        code=sheet.code,
        width=float(sheet.width_mm),
        height=float(sheet.height_mm),
        margin=float(sheet.margin_mm),
        said=f"{day}, print at 100 %",
        address=address,
        pieces=tuple(
            _print_piece(piece, place, sheet, pictures[piece.decal.artwork_id], measured, wishes)
            for piece in pieces
            if (place := piece.place)
        ),
        x_factor=x_factor,
        y_factor=y_factor,
        ticks=wishes.ticks,
        qr=place_for_qr(sheet, pieces),
    )


def place_for_qr(sheet: Sheet, pieces: Sequence[Piece]) -> tuple[float, float] | None:
    """Left and top (mm) of the sheet's QR code where it costs no film; None where it would.

    What could still be cut off for another print is left free.
    """
    width, height = float(sheet.width_mm), float(sheet.height_mm)
    side, at_mm = suggested_cut(sheet, pieces)
    cut = (width, at_mm) if side == Side.FOOT else (at_mm, height)
    lying = [
        (place, tuple((x, y) for x, y in piece.outline or ()))
        for piece in pieces
        if (place := piece.place)
    ]
    return free_for_qr(width, height, float(sheet.margin_mm), lying, cut)


def measured_art(artwork: set[int]) -> dict[int, Measuring]:
    """What was measured of these drawings at the size they have now, by artwork (one query)."""
    rows = (
        Measuring.objects.done().filter(artwork__in=artwork).select_related("artwork")
    ).order_by("pk")
    return {row.artwork_id: row for row in rows if row.width_mm == row.artwork.width_mm}


def base_arts_for(sheet: Sheet, pieces: Iterable[Piece]) -> list[BaseArt]:
    """What can be printed of the art on this sheet: less than all only where it is measured."""
    laminated = [piece for piece in pieces if piece.decal.build == Build.LAMINATED]
    if sheet.film != Film.WHITE or not laminated:
        return [BaseArt.FULL]
    artwork = {piece.decal.artwork_id for piece in laminated}
    known = measured_art(artwork)
    if all(pk in known and _cuts(known[pk]) for pk in artwork):
        return list(BaseArt)
    return [BaseArt.FULL]


def pieces_of(sheet: Sheet) -> QuerySet[Piece]:
    """The pieces of a sheet with what is printed of them (one query)."""
    return sheet.pieces.select_related("decal__artwork", "decal__project").order_by("pk")


def _check_can_be_printed(sheet: Sheet, pieces: list[Piece]) -> None:
    refuse_lost(sheet)
    if sheet.may_not_be_fed and not sheet.is_printed:
        raise Refused(f"Laser sheet {sheet.code} was cut: {NOT_FED}")
    if not pieces:
        raise Refused(f"Nothing lies on sheet {sheet.code} yet.")
    for piece in pieces:
        place = piece.place
        if place is None:
            raise Refused(
                f"{piece.decal.words} has no place on sheet {sheet.code} yet: lay the sheet out."
            )
        over = max(place.right - float(sheet.width_mm), place.foot - float(sheet.height_mm))
        if over > SLACK_MM:
            raise Refused(f"{piece.decal.words} reaches over the edge of sheet {sheet.code}.")


def _print_piece(
    piece: Piece,
    place: Place,
    sheet: Sheet,
    picture: bytes,
    measured: dict[int, Measuring],
    wishes: PrintWishes,
) -> PrintPiece:
    known = measured.get(piece.decal.artwork_id)
    laminated_base = sheet.film == Film.WHITE and piece.decal.build == Build.LAMINATED
    base_art = wishes.base_art if laminated_base else BaseArt.FULL
    clip: tuple[Ring, ...] = ()
    if base_art != BaseArt.FULL:
        if known is None or not _cuts(known):
            raise Refused(f"{piece.decal.artwork} is not measured at this size: print all of it.")
        if base_art == BaseArt.BAND:
            clip = band_strip(known.drawing["silhouette"] if known.drawing else [], _cuts(known))
    lines: tuple[Ring, ...] = ()
    if wishes.guides or base_art == BaseArt.GUIDE:
        lines = _guides(piece, known, laminated_base, min(GUIDE_OUTSIDE, float(sheet.gap_mm) / 2))
    if piece.outline and base_art == BaseArt.FULL:
        clip = (grown(piece.outline, min(CLIP_OUTSIDE, float(sheet.gap_mm) / 2)),)
    return PrintPiece(
        art=picture,
        x=place.x,
        y=place.y,
        width=place.width,
        height=place.height,
        degrees=place.degrees,
        show_art=base_art != BaseArt.GUIDE,
        clip=clip,
        lines=lines,
        ticks=not piece.outline,
    )


def _guides(piece: Piece, known: Measuring | None, base: bool, outside: float) -> tuple[Ring, ...]:
    """The cut lines as measured, or a line round a picture that was not."""
    rings = (
        []
        if known is None or known.found is None
        else (known.found["base_cut" if base else "clear_cut"]["rings"])
    )
    if rings:
        return tuple(tuple((x, y) for x, y in ring) for ring in rings)
    if piece.outline:
        return (grown(piece.outline, outside),)
    art = piece.decal.artwork
    return (frame(float(art.width_mm), art.height_mm, outside),)


def _cuts(measuring: Measuring) -> list[list[list[float]]]:
    """The rings of the base cut; none where no white is needed."""
    return measuring.found["base_cut"]["rings"] if measuring.found and measuring.drawing else []
