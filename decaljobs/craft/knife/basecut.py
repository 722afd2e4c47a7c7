"""The base cut: midway between the art's edge and its light areas, for every piece of the art."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from decaljobs.craft.art.band import EdgeWidths, gap_strip
from decaljobs.craft.art.coverage import SPECK_MM2
from decaljobs.craft.art.outlines import Outline, corner_and_shape, pieces
from decaljobs.craft.art.rings import Points, closed, perimeter
from decaljobs.craft.cutlines import CutLine, Place
from decaljobs.craft.knife.cutruns import CutRun, cut_run
from decaljobs.craft.knife.knifeline import smoothed, tightest_radius
from decaljobs.craft.knife.kniferoom import LEAST_CLEAR, KnifeRoom
from decaljobs.craft.knife.middle import middle_shape
from decaljobs.craft.knife.necks import without_necks_and_slits


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
    """The pieces of a silhouette (mm) that hold light areas, each with its own.

    `widths` are those of all the silhouette's rings, in their order.

    >>> from decaljobs.craft.art.band import edge_widths
    >>> marking = MultiPolygon([shapely.box(0, 0, 4, 3), shapely.box(6, 0, 9, 3)])
    >>> light = shapely.box(1, 1, 3, 2)
    >>> found = islands(marking, light, edge_widths(marking, light, pixel_mm=0.1))
    >>> len(found), found[0].silhouette.bounds, found[0].has_gaps
    (1, (0.0, 0.0, 4.0, 3.0), False)
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


def base_cut(
    found: list[Island],
    band_mm: float,
    inset_mm: float,
    told: Callable[[float], None] = lambda share: None,
) -> BaseCut | None:
    """The line midway between the edge and the light areas, in mm; None without light areas.

    `band_mm` is a width the band mostly has. Where there is no band the line runs `inset_mm`
    inside the edge, less where the art is too thin for that. Copies of one marking are worked
    out once. `told` hears what share is done, and may raise to end it.

    >>> from decaljobs.craft.art.band import edge_widths
    >>> marking, light = MultiPolygon([shapely.box(0, 0, 4, 3)]), shapely.box(1, 1, 3, 2)
    >>> found = islands(marking, light, edge_widths(marking, light, pixel_mm=0.1))
    >>> cut = base_cut(found, band_mm=1.0, inset_mm=0.35)
    >>> round(cut.line.clearance_mm, 2), cut.inset_mm, cut.short_at
    (0.5, None, None)
    """
    cuts: list[_PieceCut] = []
    backed: list[Polygon] = []
    known: dict[bytes, tuple[Points, list[_PieceCut]]] = {}
    for index, island in enumerate(found):
        still = partial(told, index / len(found))
        still()
        core, inset = _backed(island, inset_mm)
        backed += pieces(core)
        corner, shape = corner_and_shape(island.silhouette, core, island.light)
        if shape not in known:
            known[shape] = corner, _island_cut(island, core, inset, band_mm, still)
        first, pieces_cut = known[shape]
        cuts += [cut.moved(corner - first) for cut in pieces_cut]
    if not cuts:
        return None
    return BaseCut(
        _line(cuts),
        tuple(cut.runs for cut in cuts),
        min((cut.inset for cut in cuts if cut.inset is not None), default=None),
        MultiPolygon(backed),
        next((cut.short_at for cut in cuts if cut.short_at), None),
    )


@dataclass(frozen=True, eq=False)
class _PieceCut:
    """The rings round one piece of base film, and what was found about them."""

    rings: list[Points]
    runs: tuple[CutRun, ...]
    tightest: float
    clearance: float
    inset: float | None
    short_at: Place | None

    def moved(self, by: Points) -> _PieceCut:
        """The same cut round a copy of the marking elsewhere."""
        if not by.any():
            return self
        at = self.short_at and (self.short_at[0] + float(by[0]), self.short_at[1] + float(by[1]))
        return replace(self, rings=[ring + by for ring in self.rings], short_at=at)


def _line(cuts: list[_PieceCut]) -> CutLine:
    rings = [ring for cut in cuts for ring in cut.rings]
    return CutLine(
        tuple(closed(ring) for ring in rings),
        sum(perimeter(ring) for ring in rings),
        min(cut.tightest for cut in cuts),
        min(cut.clearance for cut in cuts),
    )


def _island_cut(
    island: Island,
    core: BaseGeometry,
    inset: float | None,
    band_mm: float,
    still: Callable[[], None],
) -> list[_PieceCut]:
    room = KnifeRoom(Outline(island.silhouette), Outline(core))
    # where light gave way to the knife, the chance still counts from the art as it is
    truth = room if inset is None else KnifeRoom(room.edge, Outline(island.light))
    width = band_mm if inset is None else 2 * inset
    middle = middle_shape(room.edge, room.core, width)
    still()
    shape = without_necks_and_slits(middle, room)
    return [_piece_cut(rings, room, truth, inset) for rings in smoothed(shape, room, still)]


def _piece_cut(
    rings: list[Points], room: KnifeRoom, truth: KnifeRoom, inset: float | None
) -> _PieceCut:
    outer, inner = room.clearances(np.concatenate(rings))
    share = np.minimum(outer, inner) / np.maximum(outer + inner, 1e-9)
    worst = int(np.argmin(share))
    x, y = np.concatenate(rings)[worst].tolist()
    return _PieceCut(
        rings,
        tuple(cut_run(ring, *truth.clearances(ring)) for ring in rings),
        tightest_radius(rings),
        float(np.minimum(outer, inner).min()),
        inset,
        None if share[worst] >= LEAST_CLEAR else (x, y),
    )


def _filled(light: BaseGeometry, silhouette: Polygon) -> BaseGeometry:
    """Light areas with their holes filled but for those that lie round a hole of the art."""
    gaps = shapely.STRtree(list(silhouette.interiors))
    whole = []
    for part in pieces(light):
        if part.area < SPECK_MM2:
            continue
        holes = np.array([Polygon(hole) for hole in part.interiors], dtype=object)
        kept = np.unique(gaps.query(holes, "intersects")[0])
        whole.append(Polygon(part.exterior, [hole.exterior for hole in holes[kept]]))
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
