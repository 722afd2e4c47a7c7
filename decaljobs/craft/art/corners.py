"""Sharp corners of an outline, which pixels blunt, put back where the straight edges meet."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from decaljobs.craft.art.rings import Lengths, Points, closed, perimeter, points_along

# px between the points that are looked at
SPACING = 0.5
# points; each edge is read from this far from the corner to that far
NEAR, FAR = 5, 11
# degrees of turn from which a bend may be a corner
LEAST_TURN = 35.0
# px; an edge that bows more than this is not straight
STRAIGHT = 0.15
# px · tan(half the corner's angle); how far evening and pixels pull back a sharp corner at most,
# found by drawing corners of 30 to 140 degrees in all directions; a corner rounded by one pixel
# is pulled back farther
PULL = 0.74
# px; nothing is put back farther, or the end of a thin stroke would turn into a spike
FARTHEST = 3.0


def with_corners(ring: Points) -> Points:
    """A closed ring (n, 2) in px, first point repeated, with its sharp corners restored.

    A corner is restored where two edges are straight for 3 px and the outline stays back from
    where they meet by as much as pixels blunt a sharp corner; rounded corners stay round.

    >>> blunt = np.array([[0, 0], [20, 0], [20, 19.6], [19.6, 20], [0, 20], [0, 0]])
    >>> [20.0, 20.0] in with_corners(blunt).round(6).tolist()
    True
    """
    places = np.arange(0, perimeter(ring[:-1]) - SPACING / 2, SPACING)
    points = points_along(ring, places)
    if len(points) < 4 * FAR:
        return ring
    before, turn_before = _edge(points, -1)
    after, turn_after = _edge(points, 1)
    turn = np.degrees(_angle(-before, after))
    bends = (turn > LEAST_TURN) & (turn_before < STRAIGHT) & (turn_after < STRAIGHT)
    count = len(turn)
    peaks = [
        i for i in np.flatnonzero(bends).tolist() if turn[i] == turn[_around(i, NEAR, count)].max()
    ]
    corners: dict[int, Points] = {}
    for index in peaks:
        corner = _meeting(points, index, before[index], after[index])
        if corner is not None and not any(_near(index, other, count) for other in corners):
            corners[index] = corner
    return _put_in(ring, points, corners) if corners else ring


def _edge(points: Points, side: int) -> tuple[Points, Lengths]:
    """Direction away from each point along the edge on one side, and how much that edge bows."""
    near = np.roll(points, -side * NEAR, axis=0)
    run = np.roll(points, -side * FAR, axis=0) - near
    run /= np.maximum(np.hypot(*run.T), 1e-9)[:, None]
    bow = np.zeros(len(points))
    for step in range(NEAR + 1, FAR):
        aside = np.roll(points, -side * step, axis=0) - near
        bow = np.maximum(bow, np.abs(aside[:, 0] * run[:, 1] - aside[:, 1] * run[:, 0]))
    return run, bow


def _angle(one: Points, other: Points) -> Lengths:
    cross = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    return np.abs(np.arctan2(cross, (one * other).sum(axis=1)))


def _around(index: int, reach: int, count: int) -> npt.NDArray[np.int64]:
    return np.arange(index - reach, index + reach + 1) % count


def _near(one: int, other: int, count: int) -> bool:
    apart = abs(one - other)
    return min(apart, count - apart) <= 2 * NEAR


def _meeting(points: Points, index: int, before: Points, after: Points) -> Points | None:
    """Where the edges on both sides of a bend meet, if the bend is a sharp corner."""
    count = len(points)
    start, end = points[(index - NEAR) % count], points[(index + NEAR) % count]
    cross = before[0] * after[1] - before[1] * after[0]
    if abs(cross) < 1e-3:
        return None
    gap = end - start
    corner = start + before * (gap[0] * after[1] - gap[1] * after[0]) / cross
    half = np.arctan2(abs(cross), float(before @ after)) / 2
    pulled = np.hypot(*(points[_around(index, NEAR, count)] - corner).T).min()
    return corner if pulled <= min(PULL / np.tan(half), FARTHEST) else None


def _put_in(ring: Points, points: Points, corners: dict[int, Points]) -> Points:
    """The evenly spaced ring with each corner in place of the points that it blunted."""
    kept = np.ones(len(points), bool)
    placed = points.copy()
    for index, corner in corners.items():
        kept[_around(index, NEAR - 1, len(points))] = False
        kept[index] = True
        placed[index] = corner
    return closed(placed[kept])
