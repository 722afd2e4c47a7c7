"""Outlines of raster areas as polygons, and exact distances to them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import contourpy
import numpy as np
import numpy.typing as npt
import shapely
from scipy import ndimage
from scipy.spatial import cKDTree
from scipy.special import ndtri
from shapely.geometry import MultiLineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from decaljobs.craft.art.corners import with_corners
from decaljobs.craft.art.coverage import Share
from decaljobs.craft.art.rings import Lengths, Points

# px; evens out how square pixels cut a slanting edge
EVENING = 0.6
# mm between the points by which distances are looked up
SPACING = 0.05
# digits after the point in mm to which copies of one marking are alike
ALIKE = 6
# mm; corners of an outline nearer to its straight run than this are dropped
FLATNESS = 0.0004


def outlines(share: Share, pixel_mm: float, least_mm2: float) -> MultiPolygon:
    """Polygons in mm round the pixels that are half covered or more.

    `share` is 0 to 1, shape (height, width). Origin at the picture's top left corner, y down, a
    pixel's centre at + ½. Polygons and holes under `least_mm2` are left out.

    >>> drawn = np.zeros((20, 30), np.float32)
    >>> drawn[5:15, 10:20] = 1
    >>> square = outlines(drawn, pixel_mm=0.1, least_mm2=0.08)
    >>> [round(side, 2) for side in square.bounds], round(square.area, 2)
    ([1.0, 0.5, 2.0, 1.5], 1.0)
    """
    field = _straightened(ndimage.gaussian_filter(np.pad(share, 2), EVENING))
    generator = contourpy.contour_generator(z=field, fill_type=contourpy.FillType.OuterOffset)
    found: list[Polygon] = []
    for points, offsets in zip(*generator.filled(0.0, np.inf), strict=True):
        rings = [points[a:b] for a, b in zip(offsets[:-1], offsets[1:], strict=True) if b - a > 3]
        if rings:
            found += _polygons(rings, pixel_mm, least_mm2)
    shape = MultiPolygon(found)
    return shape if shape.is_valid else merged(found)


def _straightened(field: Share) -> Share:
    """The share across an even edge made a straight slope, so that the edge is read off exactly.

    An evened step is nearly a normal distribution's S-curve; the inverse of that (a probit)
    takes the error of reading between two pixels from 0.08 to 0.02 of a pixel.
    """
    edge = (field > 0.002) & (field < 0.998)
    straight = np.where(field < 0.5, np.float32(-3), np.float32(3))
    straight[edge] = ndtri(field[edge])
    return straight


def _polygons(rings: list[Points], pixel_mm: float, least_mm2: float) -> list[Polygon]:
    placed = [shapely.linearrings((with_corners(ring) - 1.5) * pixel_mm) for ring in rings]
    areas = shapely.area(shapely.polygons(placed))
    if areas[0] < least_mm2:
        return []
    holes = [ring for ring, area in zip(placed[1:], areas[1:], strict=True) if area >= least_mm2]
    return pieces(Polygon(placed[0], holes).simplify(FLATNESS))


def pieces(shape: BaseGeometry) -> list[Polygon]:
    """The valid, non-empty polygons of any shape, in its own unit.

    >>> bow_tie = Polygon([(0, 0), (2, 2), (2, 0), (0, 2)])
    >>> [part.area for part in pieces(bow_tie)]
    [1.0, 1.0]
    """
    if not shape.is_valid:
        shape = shapely.make_valid(shape)
    parts = shapely.get_parts(shape)
    parts = shapely.get_parts(parts)
    return [part for part in parts if isinstance(part, Polygon) and part.area > 0]


def merged(parts: list[Polygon]) -> MultiPolygon:
    """One valid shape of all the parts, overlaps melted together, in their unit.

    >>> merged([shapely.box(0, 0, 2, 1), shapely.box(1, 0, 3, 1)]).area
    3.0
    """
    return MultiPolygon(pieces(shapely.union_all(parts)))


def rings_of(shape: BaseGeometry) -> list[Points]:
    """Every ring of the polygons in a shape, outer ones and holes, closed: arrays (n, 2) in mm.

    >>> washer = shapely.box(0, 0, 4, 4) - shapely.box(1, 1, 2, 2)
    >>> [ring.shape for ring in rings_of(washer)]
    [(5, 2), (5, 2)]
    """
    return [
        shapely.get_coordinates(ring)
        for part in pieces(shape)
        for ring in (part.exterior, *part.interiors)
    ]


def shape_within(rings: Iterable[Sequence[Sequence[float]]]) -> BaseGeometry:
    """What lies inside an odd number of rings, in their unit: rings within rings are holes.

    A ring of fewer than three places holds nothing. Lettering has hundreds of rings: the faces
    between all their lines are found at one go.

    >>> shape_within([[(0, 0), (4, 0), (4, 4), (0, 4)], [(1, 1), (2, 1), (2, 2), (1, 2)]]).area
    15.0
    """
    whole = [Polygon(ring) for ring in rings if len(ring) >= 3]
    lines = shapely.node(MultiLineString([polygon.exterior for polygon in whole]))
    faces = shapely.get_parts(shapely.polygonize([lines]))
    inside, _ = shapely.STRtree(whole).query(shapely.point_on_surface(faces), "within")
    odd = np.bincount(inside, minlength=len(faces)) % 2 == 1
    return shapely.union_all(faces[odd])


def corner_and_shape(shape: BaseGeometry, *more: BaseGeometry) -> tuple[Points, bytes]:
    """Where a shape lies, in mm, and its corners from there on: the same for copies of it.

    >>> here, there = (corner_and_shape(shapely.box(x, 3, x + 2, 4)) for x in (0, 7))
    >>> there[0].tolist(), here[1] == there[1]
    ([7.0, 3.0], True)
    """
    corner = np.array(shape.bounds[:2])
    corners = [
        np.round(shapely.get_coordinates(one) - corner, ALIKE) + 0.0 for one in (shape, *more)
    ]
    return corner, b"|".join(one.tobytes() for one in corners)


@dataclass(frozen=True)
class Nearest:
    """Distances in mm, and the nearest points (n, 2) on the outline."""

    distance: Lengths
    foot: Points


class Outline:
    """The edge of a shape, to measure exact distances in mm from.

    Raises ValueError for a shape without an area.

    >>> edge = Outline(shapely.box(0, 0, 4, 4))
    >>> edge.signed(np.array([[2.0, 1.0], [5.0, 2.0]])).tolist()
    [-1.0, 1.0]
    """

    def __init__(self, shape: BaseGeometry) -> None:
        self.shape = shape
        dense = [_densified(ring) for ring in rings_of(shape)]
        if not dense:
            raise ValueError("an outline needs a shape with an area")
        self.start = np.concatenate(dense)
        self.end = np.concatenate([np.roll(ring, -1, axis=0) for ring in dense])
        before = [np.roll(np.arange(len(ring)), 1) for ring in dense]
        offsets = np.cumsum([0] + [len(ring) for ring in dense[:-1]])
        self.before = np.concatenate([b + o for b, o in zip(before, offsets, strict=True)])
        self.tree = cKDTree(self.start)

    def nearest(self, points: Points) -> Nearest:
        """Distance in mm of each point (n, 2) to the edge, inside or outside alike."""
        _, after = self.tree.query(points)
        one, first = self._on_piece(points, after)
        other, second = self._on_piece(points, self.before[after])
        nearer = one <= other
        return Nearest(np.where(nearer, one, other), np.where(nearer[:, None], first, second))

    def signed(self, points: Points) -> Lengths:
        """Distance in mm to the edge, negative inside the shape."""
        return self.signed_by(points, self.nearest(points))

    def signed_by(self, points: Points, nearest: Nearest) -> Lengths:
        """The same where the nearest places of the edge are known already."""
        shapely.prepare(self.shape)
        inside = shapely.contains_xy(self.shape, points[:, 0], points[:, 1])
        return np.where(inside, -nearest.distance, nearest.distance)

    def _on_piece(self, points: Points, which: npt.NDArray[np.int64]) -> tuple[Lengths, Points]:
        start, run = self.start[which], self.end[which] - self.start[which]
        length = np.maximum((run**2).sum(axis=1), 1e-18)
        share = np.clip(((points - start) * run).sum(axis=1) / length, 0, 1)
        foot = start + share[:, None] * run
        return np.hypot(*(points - foot).T), foot


def _densified(ring: Points) -> Points:
    """The ring's own corners, first not repeated, with points between where they lie far apart."""
    closed = shapely.segmentize(shapely.linearrings(ring), SPACING)
    return shapely.get_coordinates(closed)[:-1]
