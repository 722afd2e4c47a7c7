"""A free place on a sheet for its QR code, where it costs no film. mm, y down from the top."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import STRtree
from shapely.affinity import rotate, translate
from shapely.geometry import Polygon
from shapely.geometry import box as rectangle

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.layout.model import SMALLEST_OFFCUT
from decaljobs.craft.layout.place import Place, Ring

#: Side of the code: a symbol of 20 mm failed 2 of 18 scans by telephone, one of 25 mm none
#: (own trial).
QR_SIDE = 25.0
#: White that it needs on each side: four modules of 33 in 25 mm, rounded up (ISO/IEC 18004).
QR_QUIET = 4.0
#: What is printed round a piece, its ticks, reaches so far; so does what stands in the edge.
PRINTED_ROUND = 1.3
#: Nearest that the code comes to a piece.
NEAR = QR_QUIET + PRINTED_ROUND
#: Places between outlines are tried so far apart; between rectangles there is none that could
#: not be moved up and to the right until it meets an edge.
PITCH = 1.5
#: Corners of a piece and a code may touch by rounding.
SLIP = 1e-6


def free_for_qr(
    width: float,
    height: float,
    margin: float,
    pieces: Sequence[tuple[Place, Ring]],
    cut: tuple[float, float] | None = None,
) -> tuple[float, float] | None:
    """Left and top, mm, of a QR code of 25 mm with its white, between the pieces of a sheet.

    width, height, margin: the sheet and its clear edge. pieces: each with its outline from the
    picture's own top left corner, () for its whole rectangle. cut: how far the part reaches to
    the right and down that is kept once the rest is cut off; a rest too narrow to be used counts
    as kept. The place nearest to the top is taken, of those the one furthest right; a clear edge
    of 33 mm or more holds the code itself. None where there is no room.

    >>> free_for_qr(210, 297, 7, [(Place(7, 7, 196, 100), ())], cut=(210, 110))
    >>> free_for_qr(210, 297, 7, [(Place(7, 7, 150, 100), ())], cut=(210, 110))
    (178.0, 9.7)
    """
    if margin >= QR_SIDE + 2 * QR_QUIET and width >= 3 * margin:
        return width - margin - QR_SIDE, height - QR_SIDE - QR_QUIET
    right, foot = _kept(width, height, margin, cut)
    side = max(margin, QR_QUIET)
    edge = margin + QR_QUIET - PRINTED_ROUND
    last, lowest = min(right, width - side) - QR_SIDE, min(foot, height - edge) - QR_SIDE
    lying = [_lying(place, outline) for place, outline in pieces]
    across = [last, *(shape.bounds[0] - NEAR - QR_SIDE for shape in lying)]
    along = [edge, *(shape.bounds[3] + NEAR for shape in lying)]
    if any(outline for _, outline in pieces):
        across += np.arange(side, last, PITCH).tolist()
        along += np.arange(edge, lowest, PITCH).tolist()
    columns = sorted({x for x in across if side - SLIP <= x <= last + SLIP}, reverse=True)
    rows = sorted({y for y in along if edge - SLIP <= y <= lowest + SLIP})
    tree = STRtree(lying)
    for top in rows:
        free = _free(np.array(columns), top, tree)
        if free.size:
            return round(float(free[0]), 3), round(top, 3)
    return None


def _kept(
    width: float, height: float, margin: float, cut: tuple[float, float] | None
) -> tuple[float, float]:
    """How far the part that is kept reaches to the right and down."""
    right, foot = cut or (width, height)
    least = SMALLEST_OFFCUT + 2 * margin
    return (
        right if width - right >= least else width,
        foot if height - foot >= least else height,
    )


def _lying(place: Place, outline: Ring) -> Polygon:
    """What a piece covers of the sheet."""
    if not outline:
        return rectangle(place.x, place.y, place.right, place.foot)
    # Anticlockwise to the eye is clockwise in numbers where y runs down.
    return translate(rotate(Polygon(outline), -place.degrees, origin=(0, 0)), *place.start)


def _free(across: Numbers, top: float, pieces: STRtree) -> Numbers:
    """Those of the places from the left, mm, at which a code could stand in a row from the top."""
    codes = shapely.box(across, top, across + QR_SIDE, top + QR_SIDE)
    met, _ = pieces.query(codes, predicate="dwithin", distance=NEAR - SLIP)
    return np.delete(across, met)
