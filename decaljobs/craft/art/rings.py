"""Rings: closed lines of points (n, 2) in one unit, the first point repeated at the end or not."""

from __future__ import annotations

import numpy as np

from decaljobs.craft.arrays import Numbers

#: Points (n, 2), and lengths or distances (n,).
Points = Numbers
Lengths = Numbers


def closed(ring: Points) -> Points:
    """A ring whose first point is not repeated, with it at the end.

    >>> closed(np.array([[0, 0], [3, 0], [3, 4]])).tolist()
    [[0, 0], [3, 0], [3, 4], [0, 0]]
    """
    return np.concatenate([ring, ring[:1]])


def points_along(ring: Points, places: Lengths) -> Points:
    """Points at distances along a ring whose first point is repeated.

    >>> points_along(np.array([[0, 0], [4, 0], [4, 4], [0, 0]]), np.array([1.0, 6.0])).tolist()
    [[1.0, 0.0], [4.0, 2.0]]
    """
    along = np.concatenate([[0.0], np.cumsum(_steps(ring))])
    return np.column_stack([np.interp(places, along, ring[:, axis]) for axis in (0, 1)])


def resampled(ring: Points, spacing: float) -> Points:
    """Points evenly spaced along a ring, the first not repeated; at least eight.

    `ring` repeats its first point at the end; `spacing` is met as nearly as a whole number of
    steps allows.

    >>> square = np.array([[0, 0], [4, 0], [4, 4], [0, 4], [0, 0]])
    >>> points = resampled(square, spacing=1)
    >>> points.shape, points[:3].tolist()
    ((16, 2), [[0.0, 0.0], [1.0, 0.0], [2.0, 0.0]])
    """
    length = _steps(ring).sum()
    count = max(8, round(length / spacing))
    return points_along(ring, np.arange(count) * length / count)


def perimeter(ring: Points) -> float:
    """Length of a ring whose first point is not repeated.

    >>> perimeter(np.array([[0, 0], [3, 0], [3, 4]]))
    12.0
    """
    return float(_steps(closed(ring)).sum())


def signed_area(ring: Points) -> float:
    """Area within a ring whose first point is not repeated; below 0 where it runs the other way.

    By the shoelace formula. A mended line may cross itself: how it turns at one corner, by which
    shapely tells its way round, is then not to be trusted.

    >>> square = np.array([[0, 0], [2, 0], [2, 2], [0, 2]])
    >>> signed_area(square), signed_area(square[::-1])
    (4.0, -4.0)
    """
    x, y = ring.T
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2)


def _steps(ring: Points) -> Lengths:
    """Lengths of the pieces between the points of a ring whose first is repeated."""
    return np.hypot(*np.diff(ring, axis=0).T)
