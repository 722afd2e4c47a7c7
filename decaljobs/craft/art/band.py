"""How wide the outline band is along the art's edge, and where there is none."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from numpy.polynomial import Polynomial
from scipy import ndimage
from shapely.geometry import LinearRing
from shapely.geometry.base import BaseGeometry

from decaljobs.craft.arrays import Flags
from decaljobs.craft.art.outlines import SPACING, Outline, rings_of
from decaljobs.craft.art.rings import Lengths, Points, resampled

# px; a narrower band blends with its neighbours, so its width is read from the run beside it
LEAST_READ = 1.6
# px; up to this width the run beside a gap tells where the band ends
RUN_READ = 6.0
# px; a band read as narrower than this somewhere may have a gap there
GAP_READ = 0.6
# points beside a gap from which its end is read at least and at most; fewer than the third are
# carried on as a straight line
LEAST_RUN, MOST_READ, STRAIGHT_RUN = 3, 60, 8
# px; how far light areas reach past the edge where there is surely no band
SURE_GAP = 2.4
# px; widths are evened along the edge over this spread
EVENING = 2.5
# depths; how far along the edge the strip along a gap tapers off beside it
TAPER = 4.0


@dataclass(frozen=True)
class EdgeWidths:
    """The band's width in mm at points (n, 2) along one ring of the silhouette, `spacing` mm apart.

    `width` (n,) is 0 and `missing` (n,) true where light art touches the edge.
    """

    points: Points
    width: Lengths
    missing: Flags
    spacing: float


@dataclass(frozen=True)
class Band:
    """The outline band's local width in mm: least and where, 5th percentile, median, gaps."""

    min_mm: float
    min_at_mm: tuple[float, float]
    p05_mm: float
    median_mm: float
    missing_mm: float


def edge_widths(silhouette: BaseGeometry, light: BaseGeometry, pixel_mm: float) -> list[EdgeWidths]:
    """Band widths in mm along each ring of a silhouette, to light areas that may reach past it.

    Where the art was drawn with pixels of `pixel_mm`, bands under about a pixel and a half
    are read from the run beside them. Raises ValueError for light without an area.

    >>> marking, light = shapely.box(0, 0, 10, 6), shapely.box(1, 1, 9, 5.5)
    >>> (ring,) = edge_widths(marking, light, pixel_mm=0.1)
    >>> ring.points.shape, round(float(ring.width.min()), 2), bool(ring.missing.any())
    ((640, 2), 0.5, False)
    """
    edge = Outline(light)
    return [_along(ring, edge, pixel_mm) for ring in rings_of(silhouette)]


def summed_up(widths: list[EdgeWidths]) -> Band:
    """The band in five figures in mm, each length of edge counting alike.

    >>> marking, light = shapely.box(0, 0, 10, 6), shapely.box(1, 1, 9, 6)
    >>> band = summed_up(edge_widths(marking, light, pixel_mm=0.1))
    >>> round(band.median_mm, 2), band.min_mm, round(band.missing_mm)
    (1.0, 0.0, 8)
    """
    every = np.concatenate([ring.width for ring in widths])
    points = np.concatenate([ring.points for ring in widths])
    weights = np.concatenate([np.full(len(ring.width), ring.spacing) for ring in widths])
    narrowest = int(np.argmin(every))
    order = np.argsort(every)
    share = (np.cumsum(weights[order]) - weights[order] / 2) / weights.sum()
    fifth, middle = np.interp((0.05, 0.5), share, every[order])
    missing = sum(float(ring.missing.sum()) * ring.spacing for ring in widths)
    x, y = (float(value) for value in points[narrowest])
    return Band(float(every[narrowest]), (x, y), float(fifth), float(middle), missing)


def gap_strip(edges: tuple[EdgeWidths, ...], depth_mm: float) -> BaseGeometry:
    """The strip `depth_mm` deep along the edge where there is no band, tapering off at its ends.

    Polygons in mm, on both sides of the edge; empty where the band is whole.

    >>> marking, light = shapely.box(0, 0, 10, 6), shapely.box(4, 1, 6, 6)
    >>> strip = gap_strip(tuple(edge_widths(marking, light, pixel_mm=0.1)), depth_mm=0.5)
    >>> round(strip.bounds[3], 1), strip.contains(shapely.box(4, 5.6, 6, 6)), strip.area < 5
    (6.5, True, True)
    """
    strips: list[BaseGeometry] = []
    for ring in edges:
        if ring.missing.all():
            strips.append(LinearRing(ring.points).buffer(depth_mm))
        elif ring.missing.any():
            away = _away_from_gap(ring) / (TAPER * depth_mm)
            near = away < 1
            depth = depth_mm * (1 + np.cos(np.pi * away[near])) / 2
            strips += list(shapely.buffer(shapely.points(ring.points[near]), depth))
    return shapely.union_all(strips)


def _away_from_gap(ring: EdgeWidths) -> Lengths:
    """Distance in mm along the ring from each point to the nearest gap."""
    thrice = np.tile(ring.missing, 3)
    steps = ndimage.distance_transform_edt(~thrice)
    return steps[len(ring.missing) : 2 * len(ring.missing)] * ring.spacing


def _along(ring: Points, edge: Outline, pixel_mm: float) -> EdgeWidths:
    points = resampled(ring, SPACING)
    spacing = float(np.hypot(*(points[1] - points[0])))
    signed = edge.signed(points)
    raw = np.maximum(signed, 0.0)
    if raw.max() == 0:
        return EdgeWidths(points, raw, np.ones(len(raw), bool), spacing)
    even = ndimage.gaussian_filter1d(raw, EVENING * pixel_mm / spacing, mode="wrap")
    unread = raw < LEAST_READ * pixel_mm
    width, missing = np.where(unread, raw, even), np.zeros(len(raw), bool)
    for run in _runs(unread):
        if raw[run].min() < GAP_READ * pixel_mm:
            width[run] = _across_gap(width, run, pixel_mm)
            # light that is carried on past the edge has no band there, whatever lies beside it
            width[run[signed[run] < -SURE_GAP * pixel_mm]] = 0
            missing[run] = width[run] == 0
    return EdgeWidths(points, width, missing, spacing)


def _runs(flags: Flags) -> list[npt.NDArray[np.int64]]:
    """The indices of each unbroken run of true flags on a closed ring."""
    if not flags.any():
        return []
    if flags.all():
        return [np.arange(len(flags))]
    first = int(np.argmin(flags))
    places = np.flatnonzero(np.roll(flags, -first))
    breaks = np.flatnonzero(np.diff(places) > 1) + 1
    return [(run + first) % len(flags) for run in np.split(places, breaks)]


def _across_gap(width: Lengths, run: npt.NDArray[np.int64], pixel_mm: float) -> Lengths:
    """Widths within a gap: the runs on both sides carried on to where they reach zero."""
    inward = np.arange(1, len(run) + 1, dtype=float)
    before = _carried_on(width, run[0], -1, pixel_mm)(inward)
    after = _carried_on(width, run[-1], 1, pixel_mm)(inward)[::-1]
    # past its first zero a side says nothing more
    before[np.cumsum(before <= 0) > 0] = 0
    after[np.cumsum((after <= 0)[::-1])[::-1] > 0] = 0
    return np.maximum(before, after)


def _carried_on(width: Lengths, end: int, step: int, pixel_mm: float) -> Polynomial:
    """Width as a polynomial of the steps from a gap's end into the gap."""
    readable: list[float] = []
    at = end + step
    while len(readable) < min(len(width) - 1, MOST_READ):
        value = float(width[at % len(width)])
        if value > RUN_READ * pixel_mm or value < LEAST_READ * pixel_mm / 2:
            break
        readable.append(value)
        at += step
    if len(readable) < LEAST_RUN:
        return Polynomial([0.0])
    degree = 2 if len(readable) > STRAIGHT_RUN else 1
    return Polynomial.fit(-np.arange(len(readable)), readable, degree)
