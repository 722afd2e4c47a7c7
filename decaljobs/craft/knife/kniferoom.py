"""The room a cut line has, and how a line short of it is mended."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from decaljobs.craft.arrays import Flags
from decaljobs.craft.art.outlines import Outline
from decaljobs.craft.art.rings import Lengths, Points, closed, resampled

# share of the local width that the line keeps clear on both sides; what we promise
LEAST_CLEAR = 0.35
# share within which the line is shaped, so that drawing it in points breaks no promise
SHAPED_WITHIN = 0.375
# mm between the places at which a finished line is measured, and mended if it is short
DENSE = 0.02
# mm; between those of a mended line at least and at most, and how many of them go into the
# narrowest width, so that a band of a pixel's width is followed
FINE, COARSE, WITHIN_WIDTH = 0.01, 0.03, 6
# share of a move; less is none
LEAST_MOVE = 0.001
# mm; barbs shorter than this are evened out
EASING = 0.04
# times a line is moved towards the middle, and the places over which each move fades out
REPAIRS, FADING = 12, 2.0


@dataclass(frozen=True)
class KnifeRoom:
    """What lies on both sides of a line: the art's edge and the light areas, lengths in mm."""

    edge: Outline
    core: Outline

    def clearances(self, points: Points) -> tuple[Lengths, Lengths]:
        """Distance from each point to the edge and to the light, negative if beyond."""
        return -self.edge.signed(points), self.core.signed(points)

    def keeps_clear(self, points: Points, share: float) -> Flags:
        """Whether each point keeps this share of the local width to both sides."""
        outer, inner = self.clearances(points)
        return np.minimum(outer, inner) >= share * (outer + inner)


def faded(short: Flags) -> Lengths:
    """How much of a move each point of a closed ring takes: all where it is short, less beside.

    Shares from 0 to 1, shape (n, 1), for flags of shape (n,).

    >>> short = np.zeros(30, bool)
    >>> short[15] = True
    >>> faded(short)[[15, 17, 25], 0].round(2).tolist()
    [1.0, 0.24, 0.0]
    """
    spread = ndimage.gaussian_filter1d(short.astype(float), FADING, mode="wrap")
    return np.minimum(2 * np.maximum(spread, short / 2), 1)[:, None]


def evenly(points: Points, spacing: float) -> Points:
    """A closed ring (n, 2), first point not repeated, in even steps in mm.

    >>> evenly(np.array([[0, 0], [4, 0], [4, 4], [0, 4]]), 2).shape
    (8, 2)
    """
    return resampled(closed(points), spacing)


def mended(points: Points, room: KnifeRoom) -> Points:
    """A closed ring (n, 2) in mm, first point not repeated, moved where its clearance is short.

    Measured every 0.02 mm. Where that is not enough it runs along the exact middle.

    >>> from shapely import box, get_coordinates
    >>> room = KnifeRoom(Outline(box(0, 0, 4, 3)), Outline(box(1, 1, 3, 2)))
    >>> too_near = resampled(get_coordinates(box(0.1, 0.1, 3.9, 2.9)), 0.05)
    >>> [bool(room.keeps_clear(ring, 0.35).all()) for ring in (too_near, mended(too_near, room))]
    [False, True]
    """
    outer, inner = room.clearances(evenly(points, DENSE))
    short = np.minimum(outer, inner) < (LEAST_CLEAR + 0.005) * (outer + inner)
    if not short.any():
        return points
    narrowest = float((outer + inner)[short].min())
    spacing = min(max(narrowest / WITHIN_WIDTH, FINE), COARSE)
    return _eased(_moved(evenly(points, spacing), room, spacing), room, spacing)


def _moved(fine: Points, room: KnifeRoom, spacing: float) -> Points:
    for repair in range(REPAIRS):
        short = ~room.keeps_clear(fine, SHAPED_WITHIN)
        if not short.any():
            break
        share = faded(short) * (1.0 if repair >= REPAIRS // 2 else 1 / 3)
        moving = share[:, 0] > LEAST_MOVE
        fine[moving] += share[moving] * _to_the_middle(fine[moving], room)
        # moved round a corner, points come to lie apart
        fine = evenly(fine, spacing)
    return fine


def _eased(fine: Points, room: KnifeRoom, spacing: float) -> Points:
    """A mended line without the barbs that mending leaves, where its room allows."""
    even = ndimage.gaussian_filter1d(fine, EASING / spacing, axis=0, mode="wrap")
    for _ in range(3):
        short = ~room.keeps_clear(even, SHAPED_WITHIN)
        if not short.any():
            break
        even = even + faded(short) * (fine - even)
    return even


def _to_the_middle(points: Points, room: KnifeRoom) -> Points:
    outer, inner = room.edge.nearest(points), room.core.nearest(points)
    off_edge = -room.edge.signed_by(points, outer)
    off_core = room.core.signed_by(points, inner)
    return step_to_middle(points, outer.foot, inner.foot, off_edge, off_core)


def step_to_middle(
    points: Points, outer: Points, inner: Points, off_edge: Lengths, off_core: Lengths
) -> Points:
    """The way from each point to where both its clearances are equal, one step of Newton's, mm.

    outer, inner: the places (n, 2) of the edge and of the light areas that are nearest to the
    points (n, 2); off_edge, off_core: how far they lie off (n,), below 0 beyond either.

    >>> point, edge, light = np.array([[1.0, 0.0]]), np.array([[0.0, 0.0]]), np.array([[4.0, 0.0]])
    >>> (point + step_to_middle(point, edge, light, np.array([1.0]), np.array([3.0]))).tolist()
    [[2.0, 0.0]]
    """
    inward = (outer - points) / np.maximum(np.abs(off_edge), 1e-9)[:, None]
    onward = (inner - points) / np.maximum(np.abs(off_core), 1e-9)[:, None]
    slope = np.sign(off_core)[:, None] * onward - np.sign(off_edge)[:, None] * inward
    steepness = np.maximum((slope**2).sum(axis=1), 0.5)
    return slope * ((off_core - off_edge) / steepness)[:, None]
