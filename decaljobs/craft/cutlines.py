"""Where the knife runs: the base cut, the clear cut and the relief cuts, in mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import minimum_spanning_tree
from scipy.spatial import Delaunay
from shapely.geometry import MultiPolygon, Polygon

from decaljobs.craft.art.outlines import SPACING, pieces, rings_of
from decaljobs.craft.art.rings import Points, closed, perimeter, resampled
from decaljobs.craft.knife.hand import CLEAR_MARGIN, LEAST_MARGIN, MOST_MARGIN
from decaljobs.craft.knife.knifeline import EVENING, evened, tightest_radius

Place = tuple[float, float]
Segment = tuple[Place, Place]

# mm; inner corners of the clear cut are rounded by at least this
CLEAR_ROUNDING = 0.5
# mm from the clear cut to the rectangle that is snipped out with scissors: common practice
SNIPPED_MARGIN = 3.0
# mm between the points by which pieces that lie next to each other are found
RELIEF_SPACING = 0.5
RELIEF_FLATNESS = 0.01
# mm; keeps touching pieces from counting as unconnected
TOUCHING = 1e-6


@dataclass(frozen=True, eq=False)
class CutLine:
    """One line for the knife: closed rings (n, 2) in mm, first point repeated at the end.

    `clearance_mm` is the least distance to the art's edge and to the light areas that are to
    be backed; None where a line has no such room.
    """

    rings: tuple[Points, ...]
    length_mm: float
    tightest_radius_mm: float
    clearance_mm: float | None = None


def clear_cut(silhouette: MultiPolygon, margin_mm: float = CLEAR_MARGIN) -> CutLine:
    """The line `margin_mm` (0.1 to 20) outside the art, holes filled, near pieces joined.

    Where two pieces' lines would lie closer than the margin they become one. Inner corners
    are rounded, and the pixels' ripple is evened out. 1 mm is common practice, no source. Raises
    ValueError for a margin out of range.

    >>> from shapely import box
    >>> near, far = (MultiPolygon([box(0, 0, 4, 4), box(x, 0, x + 4, 4)]) for x in (5, 15))
    >>> len(clear_cut(near, 1.0).rings), len(clear_cut(far, 1.0).rings)
    (1, 2)
    """
    if not LEAST_MARGIN <= margin_mm <= MOST_MARGIN:
        raise ValueError(f"the clear margin lies from {LEAST_MARGIN:g} to {MOST_MARGIN:g} mm")
    rounding = max(margin_mm / 2, CLEAR_ROUNDING)
    fine = {"quad_segs": 32}
    full = shapely.union_all([Polygon(piece.exterior) for piece in silhouette.geoms])
    joined = full.buffer(margin_mm + rounding, **fine)
    solid = shapely.union_all([Polygon(piece.exterior) for piece in pieces(joined)])
    outline = solid.buffer(-rounding, **fine)
    return _line([evened(resampled(ring, SPACING), EVENING) for ring in rings_of(outline)])


def snipped_rectangle(clear: CutLine) -> tuple[float, float, float, float]:
    """The rectangle to snip out round the clear cut: left, top, right, bottom in mm.

    3 mm outside the cut: common practice, no source.

    >>> from shapely import box
    >>> rectangle = snipped_rectangle(clear_cut(MultiPolygon([box(0, 0, 20, 10)]), 1.0))
    >>> [round(side, 2) for side in rectangle]
    [-4.0, -4.0, 24.0, 14.0]
    """
    points = np.concatenate(clear.rings)
    left, top = points.min(axis=0) - SNIPPED_MARGIN
    right, bottom = points.max(axis=0) + SNIPPED_MARGIN
    return float(left), float(top), float(right), float(bottom)


def relief_cuts(line: CutLine, rectangle: tuple[float, float, float, float]) -> tuple[Segment, ...]:
    """Straight cuts in mm that let the surround float off in two halves.

    From the first and the last piece of the line, along its longer direction, out to opposite
    sides of the rectangle; between pieces the shortest cuts that join them all.

    >>> from shapely import box
    >>> line = clear_cut(MultiPolygon([box(0, 0, 20, 10), box(40, 0, 60, 10)]), 1.0)
    >>> cuts = relief_cuts(line, snipped_rectangle(line))
    >>> [round(abs(end[0] - start[0]), 1) for start, end in cuts]
    [3.0, 18.0, 3.0]
    """
    points = np.concatenate(line.rings)
    left, top, right, bottom = rectangle
    axis = 0 if right - left >= bottom - top else 1
    low, high = points[points[:, axis].argmin()], points[points[:, axis].argmax()]
    out_low, out_high = low.copy(), high.copy()
    out_low[axis], out_high[axis] = rectangle[axis], rectangle[axis + 2]
    ends = [_segment(low, out_low), _segment(high, out_high)]
    return (ends[0], *_joining(_outer_polygons(line)), ends[1])


def _segment(start: Points, end: Points) -> Segment:
    return (float(start[0]), float(start[1])), (float(end[0]), float(end[1]))


def _outer_polygons(line: CutLine) -> list[Polygon]:
    polygons = [Polygon(ring).simplify(RELIEF_FLATNESS) for ring in line.rings]
    tree = shapely.STRtree(polygons)
    inner, _ = tree.query(polygons, "within")
    counts = np.bincount(inner, minlength=len(polygons))
    return [polygon for polygon, count in zip(polygons, counts, strict=True) if count == 1]


def _joining(polygons: list[Polygon]) -> list[Segment]:
    """The shortest set of cuts that joins all pieces.

    A minimum spanning tree over the pieces that are neighbours in a Delaunay triangulation of
    their outlines, which holds every shortest way.
    """
    if len(polygons) < 2:
        return []
    rings = [
        resampled(shapely.get_coordinates(polygon.exterior), RELIEF_SPACING) for polygon in polygons
    ]
    owner = np.repeat(np.arange(len(rings)), [len(ring) for ring in rings])
    corners = Delaunay(np.concatenate(rings)).simplices
    pairs = np.unique(np.sort(owner[corners[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)], axis=1), axis=0)
    pairs = pairs[pairs[:, 0] != pairs[:, 1]]
    apart = shapely.distance(*(np.array(polygons)[pairs[:, side]] for side in (0, 1)))
    size = (len(polygons), len(polygons))
    tree = minimum_spanning_tree(coo_array((apart + TOUCHING, pairs.T), shape=size)).tocoo()
    return [_between(polygons[a], polygons[b]) for a, b in zip(tree.row, tree.col, strict=True)]


def _between(one: Polygon, other: Polygon) -> Segment:
    a, b = shapely.get_coordinates(shapely.shortest_line(one, other))
    return _segment(a, b)


def _line(rings: list[Points]) -> CutLine:
    length = sum(perimeter(ring) for ring in rings)
    return CutLine(tuple(closed(ring) for ring in rings), length, tightest_radius(rings))
