"""Pieces pressed together on a strip: all are moved at once, by the best of all small moves. mm.

Each pair of near parts keeps its distance along the line between their nearest points, which is
enough for convex parts; then the shortest strip, or the least overlap on a strip of given length,
is a linear programme. It is solved again and again from where the pieces have come to lie (the
compaction and separation of Li and Milenkovic, 1995, from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf, sqrt

import numpy as np
import shapely
from scipy.optimize import linprog
from scipy.sparse import csr_matrix
from shapely import Polygon, STRtree
from shapely.affinity import translate

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.layout.lying import Indices, Lying, Near, outline_turned

#: Distances are kept to this many mm, and may be missed by so many before.
EXACT, MISSED = 1e-4, 0.01
#: Each piece goes at most this many mm in one round; once a round gains less than GAIN, half as
#: much, until that is less than SHORTEST.
FARTHEST, SHORTEST, GAIN = 3.0, 0.1, 0.02
MOST_ROUNDS = 60
#: Weight of a mm that one piece lies lower, and of a mm of overlap, to a mm of the strip's length.
LOWER, OVERLAP = 1e-3, 100.0
#: On a strip of given length pairs nearer to the gap than this many mm may come to overlap.
MAY_OVERLAP = 1.5


@dataclass(frozen=True)
class Pressed:
    """Places (n, 2) after a round, the strip's length, and the sum of overlaps left, mm.

    `strain` (n) tells how much each piece keeps the rest from giving way.
    """

    places: Numbers
    length: float
    overlap: float
    strain: Numbers


def pressed(
    lying: Lying,
    places: Numbers,
    *,
    gap: float,
    width: float,
    farthest: float = FARTHEST,
    length: float | None = None,
) -> Pressed | None:
    """One round: the shortest strip, or the least overlap on a strip of that length, mm.

    No piece goes farther than `farthest` mm along the strip or across it. None where the solver
    finds nothing.

    >>> from shapely import box
    >>> lying = Lying([outline_turned(box(0, 0, 20, 10), 0)] * 2)
    >>> places = np.array([[0.0, 1.0], [0.0, 16.0]])
    >>> round(pressed(lying, places, gap=3, width=20).length, 3)
    23.0
    """
    near = lying.near(places, gap + 2 * sqrt(2) * farthest)
    short = gap - near.apart
    gives = np.flatnonzero(short > (EXACT if length is None else -MAY_OVERLAP))
    rows, room = _distances(near, short, gives, len(places))
    tops = places[:, 1] + lying.sizes[:, 1]
    bounds = _bounds(lying, places, width, farthest, length, len(gives))
    costs = np.zeros(2 * len(places) + 1 + len(gives))
    costs[2 * len(places) + 1 :] = OVERLAP if length is None else 1.0
    if length is None:
        rows, room = _below_top(rows, room, tops)
        costs[2 * len(places)] = 1.0
        costs[1 : 2 * len(places) : 2] = LOWER
    found = linprog(
        costs, A_ub=rows, b_ub=room, bounds=bounds, method="highs-ds", options={"presolve": False}
    )
    if found.x is None:
        return None
    moved = places + found.x[: 2 * len(places)].reshape(-1, 2)
    forces = -found.ineqlin.marginals[: len(short)]
    overlaps = found.x[2 * len(places) + 1 :]
    forces[gives] += overlaps
    strain = np.zeros(len(places))
    np.add.at(strain, near.first, forces)
    np.add.at(strain, near.second, forces)
    top = float((moved[:, 1] + lying.sizes[:, 1]).max())
    return Pressed(moved, top, float(overlaps.sum()), strain)


def _distances(
    near: Near, short: Numbers, gives: Indices, count: int
) -> tuple[csr_matrix, Numbers]:
    """A row for each pair: how much nearer its pieces may come; `gives` may be missed."""
    pairs, first, second = np.arange(len(short)), 2 * near.first, 2 * near.second
    across, along = near.towards[:, 0], near.towards[:, 1]
    row = np.concatenate([pairs, pairs, pairs, pairs, gives])
    column = np.concatenate(
        [first, first + 1, second, second + 1, 2 * count + 1 + np.arange(len(gives))]
    )
    value = np.concatenate([across, along, -across, -along, -np.ones(len(gives))])
    rows = csr_matrix((value, (row, column)), shape=(len(short), 2 * count + 1 + len(gives)))
    return rows, np.where(np.abs(short) <= EXACT, 0.0, -short)


def _below_top(rows: csr_matrix, room: Numbers, tops: Numbers) -> tuple[csr_matrix, Numbers]:
    """A row more for each piece: none ends beyond the strip."""
    count, (pairs, columns) = len(tops), rows.shape
    pieces = np.arange(count)
    column = np.concatenate([2 * pieces + 1, np.full(count, 2 * count)])
    value = np.concatenate([np.ones(count), -np.ones(count)])
    more = (value, (np.concatenate([pieces, pieces]) + pairs, column))
    below = csr_matrix(more, shape=(pairs + count, columns))
    rows.resize(pairs + count, columns)
    return rows + below, np.concatenate([room, -tops])


def _bounds(
    lying: Lying,
    places: Numbers,
    width: float,
    farthest: float,
    length: float | None,
    overlaps: int,
) -> Numbers:
    """Least and most of each move, of the length and of each overlap."""
    count = len(places)
    bounds = np.zeros((2 * count + 1 + overlaps, 2))
    bounds[2 * count :, 1] = inf
    for axis, end in ((0, width), (1, inf if length is None else length)):
        back, forth = -places[:, axis], end - places[:, axis] - lying.sizes[:, axis]
        # A piece beyond the end comes back, however far that is.
        least = np.minimum(np.maximum(back, -farthest), np.minimum(forth, 0.0))
        bounds[axis : 2 * count : 2, 0] = least
        bounds[axis : 2 * count : 2, 1] = np.maximum(np.minimum(forth, farthest), least)
    return bounds


def settled(
    lying: Lying,
    places: Numbers,
    *,
    gap: float,
    width: float,
    over: Callable[[], bool] = lambda: False,
) -> Pressed | None:
    """Rounds until none makes the strip shorter, mm; none is begun once over says so.

    None where pieces overlap still.

    >>> from shapely import box
    >>> lying = Lying([outline_turned(box(0, 0, 20, 10), 0)] * 3)
    >>> places = np.array([[0.0, 1.0], [0.0, 26.0], [0.0, 80.0]])
    >>> round(settled(lying, places, gap=3, width=20).length, 3)
    36.0
    """
    farthest, found = FARTHEST, None
    for _ in range(MOST_ROUNDS):
        if over() or farthest < SHORTEST:
            break
        begun = places if found is None else found.places
        tried = pressed(lying, begun, gap=gap, width=width, farthest=farthest)
        if tried is None:
            break
        if found is not None and _key(found) - _key(tried) < GAIN:
            farthest /= 2
        found = tried
    return found if found is not None and found.overlap < EXACT else None


def _key(tried: Pressed) -> float:
    return tried.length + OVERLAP * tried.overlap


def tightened(
    shapes: Sequence[Polygon],
    *,
    gap: float,
    width: float,
    over: Callable[[], bool] = lambda: False,
) -> Numbers:
    """How far each outline is moved, (n, 2) mm, so that all end as low on the strip as they can.

    Where they keep the gap inside the strip they do so afterwards, and the strip is no longer.
    Where they do not, no such moves are found, or the gap is nothing, all stay.

    >>> from shapely import box
    >>> moves = tightened([box(0, 5, 20, 15), box(0, 40, 20, 50)], gap=3, width=20)
    >>> moves[:, 1].round(3).tolist()
    [-5.0, -27.0]
    """
    places = shapely.bounds(shapes)[:, :2]
    if not len(shapes) or not _holds(shapes, gap, width):
        return np.zeros_like(places)
    lying = Lying([outline_turned(shape, 0) for shape in shapes])
    found = settled(lying, places, gap=gap, width=width, over=over)
    if found is None or found.length > shapely.bounds(shapes)[:, 3].max():
        return np.zeros_like(places)
    moves = found.places - places
    moved = [translate(shape, *move) for shape, move in zip(shapes, moves.tolist(), strict=True)]
    return moves if _holds(moved, gap, width) else np.zeros_like(places)


def _holds(shapes: Sequence[Polygon], gap: float, width: float) -> bool:
    """Whether the real outlines keep the gap on the strip, whatever parts they are taken as."""
    boxes = shapely.bounds(shapes)
    nearest = max(0.0, gap - MISSED)
    first, second = STRtree(shapes).query(shapes, predicate="dwithin", distance=nearest)
    inside = boxes[:, :2].min() >= -MISSED and boxes[:, 2].max() <= width + MISSED
    return bool(inside and not (first < second).any())
