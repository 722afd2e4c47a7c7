"""Places too narrow for two runs of the knife: necks of base film are cut, slits are joined."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from decaljobs.craft.art.outlines import SPACING, Outline, merged, pieces, rings_of
from decaljobs.craft.art.rings import resampled
from decaljobs.craft.knife.knifeline import FARTHEST
from decaljobs.craft.knife.kniferoom import DENSE, LEAST_CLEAR, KnifeRoom

# mm; two cuts nearer to each other than twice this tear the film: common practice, no source
HALF_GAP = 0.15
# mm²; less film than this is no neck, only what rounding of numbers leaves
LEAST_MM2 = 5e-4
# mm; a little overlap, or a hair of a slit would stay
TOUCH = 1e-4


def without_necks_and_slits(shape: MultiPolygon, room: KnifeRoom) -> MultiPolygon:
    """The base's shape without necks and spurs under 0.3 mm that back no light, nor such slits.

    Polygons in mm. Nearer cuts tear the film (common practice, no source).

    >>> lights = shapely.union_all([shapely.box(1, 1, 2, 2), shapely.box(5, 1, 6, 2)])
    >>> room = KnifeRoom(Outline(shapely.box(0, 0, 7, 3)), Outline(lights))
    >>> neck = shapely.box(2.4, 1.4, 4.6, 1.6)
    >>> base = MultiPolygon(pieces(lights.buffer(0.5).union(neck)))
    >>> len(base.geoms), len(without_necks_and_slits(base, room).geoms)
    (1, 2)
    """
    opened = shape.buffer(-HALF_GAP).buffer(HALF_GAP)
    if _has_narrows(shape, opened):
        necks = [part for part in _narrows(shape, opened) if not part.intersects(room.core.shape)]
        left = shapely.difference(shape, shapely.union_all(necks).buffer(TOUCH))
        shape = MultiPolygon([part for part in pieces(left) if part.intersects(room.core.shape)])
    closed = shape.buffer(HALF_GAP).buffer(-HALF_GAP)
    if _has_narrows(shape, closed):
        slits = [part for part in _narrows(closed, shape) if _is_clear(part, room)]
        shape = merged([*shape.geoms, *(slit.buffer(TOUCH) for slit in slits)])
    return shape


def _points(shape: BaseGeometry, spacing: float = SPACING) -> np.ndarray:
    return np.concatenate([resampled(ring, spacing) for ring in rings_of(shape)])


def _has_narrows(shape: BaseGeometry, rounded: BaseGeometry) -> bool:
    """Whether rounding moved the outline farther than it moves any corner."""
    if rounded.is_empty:
        return False
    return bool(Outline(rounded).nearest(_points(shape)).distance.max() > FARTHEST * HALF_GAP)


def _narrows(larger: BaseGeometry, smaller: BaseGeometry) -> list[Polygon]:
    """What the larger shape has more, but for corners and for places about as short as wide."""
    edge = Outline(smaller)
    return [
        part
        for part in pieces(shapely.difference(larger, smaller))
        if part.area > LEAST_MM2 and _is_spur(part, edge) and not _is_short_bridge(part, smaller)
    ]


def _is_spur(part: Polygon, edge: Outline) -> bool:
    return bool(edge.nearest(_points(part)).distance.max() > FARTHEST * HALF_GAP)


def _is_short_bridge(part: Polygon, shape: BaseGeometry) -> bool:
    """Whether the part joins two places so near that cutting it would leave a slit, or a neck."""
    contact = shapely.intersection(shape.boundary, part.buffer(TOUCH))
    sides = pieces(contact.buffer(2 * TOUCH))
    return len(sides) > 1 and sides[0].distance(sides[1]) < 2 * HALF_GAP


def _is_clear(part: Polygon, room: KnifeRoom) -> bool:
    """Whether film left here stays clear of the art's edge."""
    if not room.edge.shape.contains(part):
        return False
    outer, inner = room.clearances(_points(part, DENSE))
    return bool((outer >= LEAST_CLEAR * (outer + np.maximum(inner, 0))).all())
