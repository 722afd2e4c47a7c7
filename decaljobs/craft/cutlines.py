"""Where the knife runs: the base cut, the clear cut and the relief cuts, in mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import minimum_spanning_tree
from scipy.spatial import Delaunay
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from decaljobs.craft.band import EdgeWidths, gap_strip
from decaljobs.craft.coverage import SPECK_MM2
from decaljobs.craft.cutruns import CutRun, cut_run
from decaljobs.craft.hand import CLEAR_MARGIN, LEAST_MARGIN, MOST_MARGIN
from decaljobs.craft.knifeline import smoothed, tightest_radius
from decaljobs.craft.kniferoom import LEAST_CLEAR, Room
from decaljobs.craft.middle import middle_shape
from decaljobs.craft.necks import without_necks_and_slits
from decaljobs.craft.outlines import (
    SPACING,
    Outline,
    Points,
    perimeter,
    pieces,
    resampled,
    rings_of,
)

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


@dataclass(frozen=True, eq=False)
class BaseCut:
    """The base cut, what its chance depends on, and how far inside it runs where no band is.

    `runs` holds the rings of each piece of base film; `inset_mm` is None without gaps; `backed`
    are the light areas as the base is to back them: holes filled, and given way along gaps.
    `short_at` is where the line keeps less than 0.35 of the local width clear, if anywhere.
    """

    line: CutLine
    runs: tuple[tuple[CutRun, ...], ...]
    inset_mm: float | None
    backed: MultiPolygon
    short_at: Place | None = None


@dataclass(frozen=True, eq=False)
class Island:
    """One piece of the silhouette, the light areas within it and the band along its rings."""

    silhouette: Polygon
    light: BaseGeometry
    edges: tuple[EdgeWidths, ...]

    @property
    def has_gaps(self) -> bool:
        """Whether light art touches the edge anywhere."""
        return any(ring.missing.any() for ring in self.edges)


def islands(
    silhouette: MultiPolygon, light: BaseGeometry, widths: list[EdgeWidths]
) -> list[Island]:
    """The pieces of a silhouette that hold light areas, each with its own.

    `widths` are those of all the silhouette's rings, in their order.
    """
    parts = pieces(light)
    tree = shapely.STRtree(parts)
    rings = iter(widths)
    found = []
    for piece in silhouette.geoms:
        edges = tuple(next(rings) for _ in range(1 + len(piece.interiors)))
        within = [parts[i] for i in tree.query(piece, "intersects")]
        lit = _filled(shapely.intersection(shapely.union_all(within), piece), piece)
        if not lit.is_empty:
            found.append(Island(piece, lit, edges))
    return found


def base_cut(found: list[Island], band_mm: float, inset_mm: float) -> BaseCut | None:
    """The line midway between the edge and the light areas, in mm; None without light areas.

    `band_mm` is a width the band mostly has. Where there is no band the line runs `inset_mm`
    inside the edge, less where the art is too thin for that.
    """
    cuts, backed = [], []
    for island in found:
        cores = _backed(island, inset_mm)
        backed += pieces(cores[0])
        cuts += _island_cut(island, *cores, band_mm)
    if not cuts:
        return None
    insets = [cut.inset for cut in cuts if cut.inset is not None]
    return BaseCut(
        _line([ring for cut in cuts for ring in cut.rings], min(cut.clearance for cut in cuts)),
        tuple(cut.runs for cut in cuts),
        min(insets, default=None),
        MultiPolygon(backed),
        next((cut.short_at for cut in cuts if cut.short_at), None),
    )


@dataclass(frozen=True, eq=False)
class _PieceCut:
    rings: list[Points]
    runs: tuple[CutRun, ...]
    clearance: float
    inset: float | None
    short_at: Place | None


def _island_cut(
    island: Island, core: BaseGeometry, inset: float | None, band_mm: float
) -> list[_PieceCut]:
    room = Room(Outline(island.silhouette), Outline(core))
    # where light gave way to the knife, the chance still counts from the art as it is
    truth = room if inset is None else Room(room.edge, Outline(island.light))
    width = band_mm if inset is None else 2 * inset
    cuts = []
    shape = without_necks_and_slits(middle_shape(room.edge, room.core, width), room)
    for rings in smoothed(shape, room):
        clearance = min(float(np.min(room.clearances(ring))) for ring in rings)
        runs = tuple(cut_run(ring, *truth.clearances(ring)) for ring in rings)
        cuts.append(_PieceCut(rings, runs, clearance, inset, _short_at(rings, room)))
    return cuts


def _short_at(rings: list[Points], room: Room) -> Place | None:
    """Where the line is short of the clearance that is promised, if it is: its worst place."""
    points = np.concatenate(rings)
    outer, inner = room.clearances(points)
    share = np.minimum(outer, inner) / np.maximum(outer + inner, 1e-9)
    worst = int(np.argmin(share))
    if share[worst] >= LEAST_CLEAR:
        return None
    return float(points[worst][0]), float(points[worst][1])


def clear_cut(silhouette: MultiPolygon, margin_mm: float = CLEAR_MARGIN) -> CutLine:
    """The line `margin_mm` (0.1 to 20) outside the art, holes filled, near pieces joined.

    Where two pieces' lines would lie closer than the margin they become one. Inner corners
    are rounded. Raises ValueError for a margin out of range.
    """
    if not LEAST_MARGIN <= margin_mm <= MOST_MARGIN:
        raise ValueError(f"the clear margin lies from {LEAST_MARGIN:g} to {MOST_MARGIN:g} mm")
    rounding = max(margin_mm / 2, CLEAR_ROUNDING)
    fine = {"quad_segs": 32}
    full = shapely.union_all([Polygon(piece.exterior) for piece in silhouette.geoms])
    joined = full.buffer(margin_mm + rounding, **fine)
    solid = shapely.union_all([Polygon(piece.exterior) for piece in pieces(joined)])
    outline = solid.buffer(-rounding, **fine)
    return _line([resampled(ring, SPACING) for ring in rings_of(outline)])


def snipped_rectangle(clear: CutLine) -> tuple[float, float, float, float]:
    """The rectangle to snip out round the clear cut: left, top, right, bottom in mm."""
    points = np.concatenate(clear.rings)
    left, top = points.min(axis=0) - SNIPPED_MARGIN
    right, bottom = points.max(axis=0) + SNIPPED_MARGIN
    return float(left), float(top), float(right), float(bottom)


def relief_cuts(line: CutLine, rectangle: tuple[float, float, float, float]) -> tuple[Segment, ...]:
    """Straight cuts in mm that let the surround float off in two halves.

    From the first and the last piece of the line, along its longer direction, out to opposite
    sides of the rectangle; between pieces the shortest cuts that join them all.
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


def _line(rings: list[Points], clearance: float | None = None) -> CutLine:
    closed = tuple(np.concatenate([ring, ring[:1]]) for ring in rings)
    length = sum(perimeter(ring) for ring in rings)
    return CutLine(closed, length, tightest_radius(rings), clearance)


def _filled(light: BaseGeometry, silhouette: Polygon) -> BaseGeometry:
    """Light areas with their holes filled but for those that lie round a hole of the art."""
    whole = []
    for part in pieces(light):
        if part.area < SPECK_MM2:
            continue
        kept = [
            hole
            for hole in part.interiors
            if any(Polygon(hole).intersects(gap) for gap in silhouette.interiors)
        ]
        whole.append(Polygon(part.exterior, kept))
    return shapely.union_all(whole)


def _backed(island: Island, inset_mm: float) -> tuple[BaseGeometry, float | None]:
    """The light areas that the base can back, and the inset where the band is missing.

    Along a gap the light gives way by twice the inset, so that the line midway runs at the
    inset. Where that would cost too much of a part its inset is halved, as often as needed.
    """
    if not island.has_gaps:
        return island.light, None
    strips: dict[float, BaseGeometry] = {}
    kept, least = [], inset_mm
    for part in pieces(island.light):
        for inset in (inset_mm / 2**halvings for halvings in range(5)):
            if inset not in strips:
                strips[inset] = gap_strip(island.edges, 2 * inset)
            rest = shapely.difference(part, strips[inset])
            if shapely.intersection(part, rest.buffer(2.2 * inset)).area > 0.9 * part.area:
                kept.append(rest)
                least = min(least, inset)
                break
    if not kept:
        return island.light, None
    return shapely.union_all(kept), least
