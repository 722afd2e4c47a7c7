"""Outlines as they lie on a strip, and which of them lie near each other. Lengths in mm, y up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, STRtree
from shapely.affinity import rotate, translate

from decaljobs.craft.arrays import Numbers

Indices = NDArray[np.intp]

#: Bays narrower than twice this many mm are no place for a piece: an outline is taken as if filled
#: there. Outlines are flattened by no more than FLAT on the way, outwards.
CLOSED, FLAT = 2.5, 0.01
#: An outline is taken as its hull if that is larger by no more than this share, and parts of an
#: outline are taken as one if their hull is larger by no more than so many mm².
NEARLY_CONVEX, SPARE_MM2 = 0.0005, 0.1
#: Nearer than this many mm, two parts count as overlapping.
TOUCHING = 1e-7


@dataclass(frozen=True)
class TurnedOutline:
    """One outline in one turn, its box from (0, 0): in convex parts that together cover it."""

    shape: Polygon
    parts: tuple[Polygon, ...]

    @cached_property
    def size(self) -> Numbers:
        """Width and height of its box, mm."""
        return np.array(self.shape.bounds[2:])

    @cached_property
    def edges(self) -> tuple[tuple[Numbers, Numbers], ...]:
        """Corners (n, 2) of each part, and the outward directions (n, 2) of its edges."""
        return tuple(_edges(part) for part in self.parts)


@dataclass(frozen=True)
class Near:
    """Pairs of parts that lie near each other, by the pieces that they are of.

    `towards` (n, 2) points from the first to the second of a pair, `apart` (n) is their distance
    along it, mm; less than nothing where they overlap.
    """

    first: Indices
    second: Indices
    towards: Numbers
    apart: Numbers


def outline_turned(shape: Polygon, quarters: int) -> TurnedOutline:
    """An outline turned anticlockwise by 0 to 3 quarters, its box from (0, 0) mm.

    Raises ValueError for any other number of quarters.

    >>> from shapely import box
    >>> outline_turned(box(5, 5, 25, 15), 1).size.tolist()
    [10.0, 20.0]
    """
    if quarters not in range(4):
        raise ValueError(f"a piece is turned by 0 to 3 quarters, not {quarters}")
    turned = rotate(shape, 90 * quarters, origin=(0, 0))
    left, low, _, _ = turned.bounds
    upright = translate(turned, -left, -low)
    return TurnedOutline(upright, convex_parts(upright))


def convex_parts(shape: Polygon) -> tuple[Polygon, ...]:
    """Convex parts, mm, that cover the shape but for narrow bays and little more.

    >>> from shapely import box
    >>> step = box(0, 0, 20, 10).union(box(0, 0, 10, 20))
    >>> parts = convex_parts(step)
    >>> 2 <= len(parts) <= 4, shapely.union_all(parts).buffer(0.001).covers(step)
    (True, True)
    >>> len(convex_parts(box(0, 0, 20, 10)))
    1
    """
    hull = shape.convex_hull
    if hull.area <= shape.area * (1 + NEARLY_CONVEX):
        return (hull,)
    filled = Polygon(shape.buffer(CLOSED).exterior).buffer(FLAT - CLOSED, quad_segs=16)
    flat = filled.union(shape).simplify(FLAT)
    if not isinstance(flat, Polygon):
        return (hull,)
    parts = list(shapely.constrained_delaunay_triangles(Polygon(flat.exterior)).geoms)
    merged = _merged(parts)
    while len(merged) < len(parts):
        parts, merged = merged, _merged(merged)
    return tuple(merged)


def _merged(parts: list[Polygon]) -> list[Polygon]:
    """Each part with the neighbours that it makes a convex shape with."""
    tree, left, merged = STRtree(parts), set(range(len(parts))), []
    for number, part in enumerate(parts):
        if number not in left:
            continue
        left.discard(number)
        for other in sorted(left.intersection(tree.query(part).tolist())):
            both = part.union(parts[other])
            if isinstance(both, Polygon) and both.convex_hull.area - both.area <= SPARE_MM2:
                part = both.convex_hull
                left.discard(other)
        merged.append(part)
    return merged


class Lying:
    """Outlines whose boxes begin at places (n, 2) that change while the outlines stay."""

    def __init__(self, outlines: Sequence[TurnedOutline]) -> None:
        self.outlines = outlines
        counts = [len(outline.parts) for outline in outlines]
        self.sizes: Numbers = np.array([outline.size for outline in outlines]).reshape(-1, 2)
        self._piece = np.repeat(np.arange(len(outlines)), counts)
        self._number = np.concatenate([np.arange(count) for count in counts])
        self._parts = np.array([part for one in outlines for part in one.parts], dtype=object)
        self._corners, of_part = shapely.get_coordinates(self._parts, return_index=True)
        self._corner_piece = self._piece[of_part]
        boxes = shapely.bounds(self._parts)
        self._low, self._high = boxes[:, :2], boxes[:, 2:]

    def near(self, places: Numbers, reach: float) -> Near:
        """All pairs of parts of two pieces less than `reach` mm apart."""
        first, second = self._boxes_within(places, reach)
        corners = self._corners + places[self._corner_piece]
        lying = shapely.set_coordinates(self._parts.copy(), corners)
        lines = shapely.shortest_line(lying[first], lying[second])
        ends = shapely.get_coordinates(lines).reshape(-1, 2, 2)
        between = ends[:, 1] - ends[:, 0]
        apart = np.hypot(between[:, 0], between[:, 1])
        towards = between / np.maximum(apart, TOUCHING)[:, None]
        for at in np.flatnonzero(apart <= TOUCHING).tolist():
            towards[at], apart[at] = self._way_out(places, first[at], second[at])
        kept = apart < reach
        pieces = self._piece[first[kept]], self._piece[second[kept]]
        return Near(*pieces, towards[kept], apart[kept])

    def _boxes_within(self, places: Numbers, reach: float) -> tuple[Indices, Indices]:
        low, high = self._low + places[self._piece], self._high + places[self._piece]
        boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
        wider = shapely.box(*(low - reach).T, *(high + reach).T)
        first, second = STRtree(boxes).query(wider)
        each_once = self._piece[first] < self._piece[second]
        first, second = first[each_once], second[each_once]
        return first, second

    def _way_out(self, places: Numbers, first: int, second: int) -> tuple[Numbers, float]:
        """The direction in which two parts come apart soonest, and how deep they overlap."""
        one, other = self._piece[first], self._piece[second]
        corners, outwards = self.outlines[one].edges[self._number[first]]
        of_other, inwards = self.outlines[other].edges[self._number[second]]
        ways = np.concatenate([outwards, -inwards])
        begins = ((of_other + places[other]) @ ways.T).min(axis=0)
        free = begins - ((corners + places[one]) @ ways.T).max(axis=0)
        best = int(free.argmax())
        return ways[best], float(free[best])


def _edges(part: Polygon) -> tuple[Numbers, Numbers]:
    corners = shapely.get_coordinates(shapely.orient_polygons(part).exterior)
    along = np.diff(corners, axis=0)
    lengths = np.hypot(along[:, 0], along[:, 1])
    kept = lengths > TOUCHING
    along = along[kept] / lengths[kept, None]
    return corners[:-1], np.stack([along[:, 1], -along[:, 0]], axis=1)
