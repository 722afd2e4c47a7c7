"""Nested pieces let down towards the strip's foot, as far as they go. mm.

Where parts of a strip follow each other their pieces lie looser than the gap asks for, and the
nesting library takes all outlines for a little larger than they are. First each piece is let down
by itself, which may go far; then all are pressed together.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import Geometry, MultiPolygon, Polygon
from shapely.affinity import translate

from decaljobs.craft.layout.pressing import tightened
from decaljobs.services.squeeze.parts import OutlinePlacement

#: Steps aside that a piece may make to get lower, mm: each row is one round of all pieces.
ASIDE = ((0.0,), (0.0,), (0.0, -0.3, 0.3, -1.0, 1.0, -2.0, 2.0), (0.0, -0.6, 0.6, -3.0, 3.0))
#: A piece goes down in steps of FIRST, then of half as much, until they are shorter than LAST.
FIRST, LAST = 2.0, 0.004
#: Farthest that a piece goes down in one round.
FARTHEST = 30.0


def closer(
    placements: Sequence[OutlinePlacement],
    gap: float,
    width: float,
    over: Callable[[], bool] = lambda: False,
) -> list[OutlinePlacement]:
    """The placements let down and pressed together: a strip no longer, the gap kept."""
    down = settled(placements, gap, width, over)
    shapes = [Polygon(placed.outline) for placed in down]
    moves = tightened(shapes, gap=gap, width=width, over=over)
    return [_moved(placed, *move) for placed, move in zip(down, moves.tolist(), strict=True)]


def settled(
    placements: Sequence[OutlinePlacement],
    gap: float,
    width: float,
    over: Callable[[], bool] = lambda: False,
) -> list[OutlinePlacement]:
    """The placements, none higher than before and none nearer to another than the gap.

    No further round is begun once over says so.
    """
    shapes = [Polygon(placed.outline) for placed in placements]
    starts = [shape.bounds for shape in shapes]
    boxes = np.array(starts)
    for aside in ASIDE:
        if over():
            break
        for at in np.argsort(boxes[:, 1], kind="stable").tolist():
            shapes[at] = _lower(shapes, boxes, at, gap, width, aside)
            boxes[at] = shapes[at].bounds
    moves = boxes[:, :2] - np.array(starts)[:, :2]
    return [
        _moved(placed, across, along)
        for placed, (across, along) in zip(placements, moves.tolist(), strict=True)
    ]


def _lower(
    shapes: Sequence[Polygon],
    boxes: np.ndarray,
    at: int,
    gap: float,
    width: float,
    aside: Sequence[float],
) -> Polygon:
    """One piece where it comes to lie lowest."""
    shape = shapes[at]
    left, low, right, _ = shape.bounds
    others = _others(shapes, boxes, at, gap + max(aside))
    best, deepest = shape, LAST
    for step in aside:
        if step and not (left + step >= 0 and right + step <= width):
            continue
        beside = translate(shape, step, 0) if step else shape
        if step and beside.distance(others) < gap:
            continue
        down = _depth(beside, others, gap, min(low, FARTHEST))
        if down > deepest:
            best, deepest = translate(beside, 0, -down), down
    return best


def _others(shapes: Sequence[Polygon], boxes: np.ndarray, at: int, within: float) -> Geometry:
    """The pieces that one can meet on its way down."""
    left, low, right, high = boxes[at]
    meets = (
        (boxes[:, 0] < right + within)
        & (boxes[:, 2] > left - within)
        & (boxes[:, 1] < high + within)
        & (boxes[:, 3] > low - FARTHEST - within)
    )
    meets[at] = False
    found = [shapes[other] for other in np.flatnonzero(meets).tolist()]
    return shapely.multipolygons(found) if found else MultiPolygon()


def _depth(shape: Polygon, others: Geometry, gap: float, most: float) -> float:
    """How far down a piece slides, in steps shorter than any piece is high."""
    down, step = 0.0, FIRST
    while step > LAST:
        further = min(down + step, most)
        below = translate(shape, 0, -further)
        if further > down and (others.is_empty or below.distance(others) >= gap):
            down = further
        else:
            step /= 2
    return down


def _moved(placed: OutlinePlacement, across: float, along: float) -> OutlinePlacement:
    corners = tuple((x + across, y + along) for x, y in placed.outline)
    return replace(placed, x=placed.x + across, y=placed.y + along, outline=corners)
