"""The line midway between the art's edge and its light areas."""

from __future__ import annotations

import math

import contourpy
import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw
from scipy import ndimage
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from decaljobs.craft.art.coverage import Mask
from decaljobs.craft.art.outlines import Outline, merged, pieces, rings_of
from decaljobs.craft.art.rings import Points
from decaljobs.craft.knife.kniferoom import step_to_middle

Distances = npt.NDArray[np.float32]

# mm between the grid's points on which the line is first sought
FINEST_GRID, COARSEST_GRID = 0.03, 0.06
# points; a larger area is sought on a coarser grid
MOST_POINTS = 1_500_000
# points up to which the grid is made finer where it missed something
MOST_REFINED = 6_000_000
# times the grid is made finer where the line found does not lie between edge and light
REFININGS = 2
# each step squares the error, so the third is below a thousandth of a millimetre
NEWTON_STEPS = 3


def middle_shape(edge: Outline, core: Outline, width_mm: float) -> MultiPolygon:
    """All that is nearer to the light areas than to the silhouette's edge, as polygons in mm.

    `edge` is the outline of one piece of the silhouette, `core` that of the light areas inside
    it. `width_mm` is the distance between the two that matters: it sets the grid on which the
    line is first sought, before it is moved to where both distances are equal.

    >>> from shapely import box
    >>> shape = middle_shape(Outline(box(0, 0, 5, 4)), Outline(box(1, 1, 4, 3)), width_mm=1)
    >>> [round(side, 2) for side in shape.bounds]
    [0.5, 0.5, 4.5, 3.5]
    """
    grid = _grid(edge.shape, width_mm)
    shape = _sought(edge, core, grid)
    for _ in range(REFININGS):
        if edge.shape.contains(shape) and shape.contains(core.shape):
            break
        if 4 * _area(edge.shape) / grid**2 > MOST_REFINED:
            break
        grid /= 2
        shape = _sought(edge, core, grid)
    return shape


def _sought(edge: Outline, core: Outline, grid: float) -> MultiPolygon:
    """The shape as found with points every `grid` mm, which may miss slits narrower than that."""
    left, top = (side - 2 * grid for side in edge.shape.bounds[:2])
    inside = _drawn(edge.shape, left, top, grid)
    lit = _drawn(core.shape, left, top, grid, inside.shape)
    if not lit.any():
        return MultiPolygon()
    difference = _depth(inside) - _depth(~lit)
    generator = contourpy.contour_generator(z=difference, fill_type=contourpy.FillType.OuterOffset)
    found: list[Polygon] = []
    for points, offsets in zip(*generator.filled(0.0, np.inf), strict=True):
        moved = _to_middle(points * grid + (left, top), edge, core)
        rings = [moved[a:b] for a, b in zip(offsets[:-1], offsets[1:], strict=True)]
        found += pieces(Polygon(rings[0], rings[1:]))
    return merged(found)


def _grid(silhouette: BaseGeometry, width_mm: float) -> float:
    fine = min(max(width_mm / 8, FINEST_GRID), COARSEST_GRID)
    return max(fine, math.sqrt(_area(silhouette) / MOST_POINTS))


def _area(shape: BaseGeometry) -> float:
    """Area in mm² of the box round a shape."""
    left, top, right, bottom = shape.bounds
    return float((right - left) * (bottom - top))


def _drawn(
    shape: BaseGeometry, left: float, top: float, grid: float, size: tuple[int, int] | None = None
) -> Mask:
    """Which points of the grid lie in the shape, shape (rows, columns)."""
    if size is None:
        right, bottom = shape.bounds[2:]
        size = (math.ceil((bottom - top) / grid) + 3, math.ceil((right - left) / grid) + 3)
    image = Image.new("1", (size[1], size[0]))
    draw = ImageDraw.Draw(image)
    for part in pieces(shape):
        for index, ring in enumerate(rings_of(part)):
            corners = [tuple(corner) for corner in (ring - (left, top)) / grid]
            draw.polygon(corners, fill=0 if index else 1)
    return np.asarray(image)


def _depth(mask: Mask) -> Distances:
    """How deep each point lies in a mask: from its centre to the mask's edge, in grid steps."""
    return (ndimage.distance_transform_edt(mask) - 0.5).astype(np.float32)


def _to_middle(points: Points, edge: Outline, core: Outline) -> Points:
    """Points moved to where both distances are equal; the grid left them between edge and light."""
    for _ in range(NEWTON_STEPS):
        outer, inner = edge.nearest(points), core.nearest(points)
        points = points + step_to_middle(
            points, outer.foot, inner.foot, outer.distance, inner.distance
        )
    return points
