"""Places for pieces that were put on a sheet by hand."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from django.db import transaction

from decaljobs.craft.layout import model as craft
from decaljobs.craft.layout.place import Place
from decaljobs.craft.sheetlayout import lay_out
from decaljobs.models import Piece, Sheet
from decaljobs.services.film.sheetlog import lock_sheet, refuse_lost
from decaljobs.services.layout.layouts import kind_of, name_of, placed
from decaljobs.services.refused import Overtaken, Refused

PLACE_COLUMNS = ["x_mm", "y_mm", "width_mm", "height_mm", "degrees", "outline"]
#: Time for the layout, s: the page waits for it.
SECONDS = 0.5


def place_fields(place: Place) -> dict[str, float]:
    """A place as a piece keeps it."""
    return {
        "x_mm": place.x,
        "y_mm": place.y,
        "width_mm": place.width,
        "height_mm": place.height,
        "degrees": place.degrees,
    }


def give_places(*, sheet: Sheet, seconds: float = SECONDS) -> int:
    """Lay out every piece of a sheet not printed yet with its own gap; answers how many there are.

    The layout is looked for before anything is locked. Raises Refused where the pieces
    do not fit, Overtaken where others were put on the sheet meanwhile.
    """
    pieces = list(sheet.pieces.select_related("decal__project", "decal__artwork").order_by("pk"))
    if not pieces:
        raise Refused(f"Nothing lies on sheet {sheet.code} yet.")
    lying = _lay_out(sheet, pieces, seconds)
    _keep(sheet, lying)
    return len(lying)


def _lay_out(sheet: Sheet, pieces: Sequence[Piece], seconds: float) -> list[Piece]:
    """The pieces with their places, not yet saved."""
    edge = float(sheet.margin_mm)
    decals = {piece.decal_id: piece.decal for piece in pieces}
    counted = Counter(piece.decal_id for piece in pieces)
    wide, high = float(sheet.width_mm) - 2 * edge, float(sheet.height_mm) - 2 * edge
    try:
        layout = lay_out(
            [kind_of(decals[pk], copies) for pk, copies in counted.items()],
            craft.Sheet(wide, high),
            gap=float(sheet.gap_mm),
            seconds=seconds,
            straight_cuts=sheet.straight_cuts,
        )
    except craft.LayoutError as error:
        raise Refused(str(error)) from error
    if len(layout.sheets) > 1:
        left = len(pieces) - len(layout.sheets[0].placements)
        raise Refused(
            f"Not all pieces fit on sheet {sheet.code}: {left} of {len(pieces)} are too many."
        )
    waiting: dict[str, list[Piece]] = {}
    for piece in pieces:
        waiting.setdefault(name_of(piece.decal), []).append(piece)
    return [
        _placed(waiting[place.name].pop(0), place, edge) for place in layout.sheets[0].placements
    ]


def _placed(piece: Piece, place: craft.Placement, edge: float) -> Piece:
    for field, value in place_fields(placed(place, edge)).items():
        setattr(piece, field, value)
    piece.outline = None
    return piece


@transaction.atomic
def _keep(sheet: Sheet, lying: Sequence[Piece]) -> None:
    found = lock_sheet(sheet.pk)
    refuse_lost(found)
    if found.is_printed:
        raise Refused(f"Sheet {found.code} is printed already: its pieces lie where they lie.")
    if set(found.pieces.values_list("pk", flat=True)) != {piece.pk for piece in lying}:
        raise Overtaken(f"Somebody changed what lies on sheet {found.code}: lay it out again.")
    Piece.objects.bulk_update(lying, PLACE_COLUMNS)
