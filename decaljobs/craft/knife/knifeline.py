"""A cut line made smooth for a knife without leaving the room it has."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import numpy.typing as npt
from scipy import ndimage
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from decaljobs.craft.arrays import Flags
from decaljobs.craft.art.outlines import FLATNESS, SPACING, Outline, merged, pieces, rings_of
from decaljobs.craft.art.rings import Lengths, Points, perimeter, resampled
from decaljobs.craft.knife.kniferoom import SHAPED_WITHIN, KnifeRoom, evenly, faded, mended

# mm; corners are rounded by the largest of these that the room allows
RADII = (0.4, 0.3, 0.22, 0.16, 0.12, 0.08)
# mm; the pixels' own ripple is evened out along the line over this spread
EVENING = 0.08
# mm; a point that rounding moves no farther stays where it is
STILL = 0.001
# radii; rounding moves a corner of 75° by this, and corners of a middle line are blunter
FARTHEST = 0.65
# mm; half the lengths of line over which its radius is read
HALF_CHORDS = (0.1, 0.2, 0.4, 0.8, 1.6, 3.2)
# mm; a bow flatter than this may be ripple and tells no radius
LEAST_BOW = 0.03
# mm; a shorter ring is no cut
SHORTEST = 0.4


def smoothed(
    shape: MultiPolygon, room: KnifeRoom, still: Callable[[], None] = lambda: None
) -> list[list[Points]]:
    """Knife lines in mm round a shape: for each piece its outer ring, then those of its holes.

    Rings are closed, first point not repeated, points about 0.05 mm apart. Corners get the
    largest radius up to 0.4 mm that keeps the line within its room; runs that are smooth
    already stay where they are. The clearance is measured again at the end and mended where
    it is short of 0.35 of the local width.

    >>> from shapely import box
    >>> room = KnifeRoom(Outline(box(0, 0, 4, 3)), Outline(box(1, 1, 3, 2)))
    >>> [[ring]] = smoothed(MultiPolygon([box(0.5, 0.5, 3.5, 2.5)]), room)
    >>> round(tightest_radius([ring]), 1), bool(room.keeps_clear(ring, 0.35).all())
    (0.4, True)
    """
    even = _ripple_gone(shape, room)
    rings = [[resampled(ring, SPACING) for ring in rings_of(part)] for part in even.geoms]
    every = [ring for piece in rings for ring in piece]
    rounded = iter(_corners_rounded(even, every, room, still))
    lines = [[next(rounded) for _ in piece] for piece in rings]
    cuts = [[ring for ring in piece if perimeter(ring) > SHORTEST] for piece in lines]
    return [[_mended(ring, room, still) for ring in piece] for piece in cuts if piece]


def _mended(ring: Points, room: KnifeRoom, still: Callable[[], None]) -> Points:
    still()
    return mended(evened(evenly(ring, SPACING), EVENING / 2), room)


def _ripple_gone(shape: MultiPolygon, room: KnifeRoom) -> MultiPolygon:
    even: list[Polygon] = []
    for part in shape.geoms:
        outer, *holes = (_evened_within(ring, room) for ring in rings_of(part))
        even += pieces(Polygon(outer, holes))
    return merged(pieces(merged(even).simplify(FLATNESS)))


def _evened_within(ring: Points, room: KnifeRoom) -> Points:
    """A closed ring with as much of its ripple gone as its room allows."""
    points = resampled(ring, SPACING)
    even = evened(points, EVENING)
    for spread in (EVENING / 2, EVENING / 4, 0.0):
        short = ~room.keeps_clear(even, SHAPED_WITHIN)
        if not short.any():
            break
        less = evened(points, spread) if spread else points
        even = even + faded(short) * (less - even)
    return even


def evened(points: Points, spread: float) -> Points:
    """A closed ring, points 0.05 mm apart, its ripple under the spread in mm gone, bows kept.

    `points` (n, 2) does not repeat its first.

    >>> turn = np.linspace(0, 2 * np.pi, 250, endpoint=False)
    >>> circle = 2 * np.column_stack([np.cos(turn), np.sin(turn)])
    >>> rippled = circle * (1 + 0.01 * np.cos(100 * turn))[:, None]
    >>> radius = np.hypot(*evened(rippled, 0.08).T)
    >>> round(float(radius.mean()), 3), float(np.ptp(radius)) < 0.004
    (2.0, True)
    """
    sigma = spread / SPACING
    once = ndimage.gaussian_filter1d(points, sigma, axis=0, mode="wrap")
    # evening twice tells how far evening shrinks a bow, and that much is given back
    return 2 * once - ndimage.gaussian_filter1d(once, sigma, axis=0, mode="wrap")


def _corners_rounded(
    shape: MultiPolygon, rings: list[Points], room: KnifeRoom, still: Callable[[], None]
) -> list[Points]:
    """The rings of a shape with each corner moved onto the roundest arc that fits its room."""
    points = np.concatenate(rings)
    ring_of = np.repeat(np.arange(len(rings)), [len(ring) for ring in rings])
    unsettled = np.ones(len(points), bool)
    for radius in RADII:
        still()
        rounded = _opened_and_closed(shape, radius)
        if rounded.is_empty:
            continue
        arcs = Outline(rounded).nearest(points)
        unsettled &= arcs.distance > STILL
        corner = _corners(unsettled, ring_of)
        kept = room.keeps_clear(arcs.foot[unsettled], SHAPED_WITHIN)
        # farther away lies no arc of this corner but another part of the line
        kept &= arcs.distance[unsettled] < FARTHEST * radius
        strays = np.bincount(corner[unsettled], ~kept, corner.max() + 1) > 0
        settled = unsettled & ~strays[corner]
        points[settled] = arcs.foot[settled]
        unsettled &= ~settled
        if not unsettled.any():
            break
    return np.split(points, np.cumsum([len(ring) for ring in rings])[:-1])


def _corners(moved: Flags, ring_of: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """A number for each unbroken run of moved points; 0 where nothing moved."""
    labels, count = ndimage.label(moved)
    starts = np.flatnonzero(np.diff(ring_of, prepend=-1))
    ends = np.append(starts[1:], len(moved)) - 1
    for start, end in zip(starts, ends, strict=True):
        # runs that meet across two rings are two; runs across a ring's ends are one
        if start and labels[start] and labels[start] == labels[start - 1]:
            count += 1
            labels[start:][labels[start:] == labels[start]] = count
        if labels[start] and labels[end]:
            ring = labels[start : end + 1]
            ring[ring == labels[end]] = labels[start]
    return labels


def _opened_and_closed(shape: BaseGeometry, radius: float) -> BaseGeometry:
    fine = {"quad_segs": 24}
    opened = shape.buffer(-radius, **fine).buffer(2 * radius, **fine)
    return opened.buffer(-radius, **fine)


def tightest_radius(rings: list[Points]) -> float:
    """Least radius in mm along closed rings (n, 2) of evenly spaced points, first not repeated.

    Read over the shortest run of line whose bow is more than the pixels' ripple; infinite for
    rings without a bow.

    >>> turn = np.linspace(0, 2 * np.pi, 250, endpoint=False)
    >>> round(tightest_radius([2 * np.column_stack([np.cos(turn), np.sin(turn)])]), 3)
    2.0
    """
    return min((_tightest(ring) for ring in rings), default=math.inf)


def _tightest(ring: Points) -> float:
    spacing = perimeter(ring) / len(ring)
    least = math.inf
    for half in HALF_CHORDS:
        step = max(1, round(half / spacing))
        if step > len(ring) // 3:
            break
        radius, bow = _arcs(np.roll(ring, step, axis=0), ring, np.roll(ring, -step, axis=0))
        told = radius[bow >= LEAST_BOW]
        least = min([least, *told])
    return float(least)


def _arcs(before: Points, at: Points, after: Points) -> tuple[Lengths, Lengths]:
    """Radius of the circle through three points, and how far the middle one bows out."""
    one, other, chord = at - before, after - at, after - before
    lengths = [np.hypot(*side.T) for side in (one, other, chord)]
    twice_area = np.abs(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0])
    radius = np.prod(lengths, axis=0) / np.maximum(2 * twice_area, 1e-12)
    return radius, twice_area / np.maximum(lengths[2], 1e-12)
