"""What the library nested made shorter by our own search: from its coordinates and back. mm.

The library's strip runs along x and its outlines have half a gap round them; ours runs along y
(see nesting.py), and its outlines are the real ones.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from shapely import Polygon
from shapely.affinity import rotate, translate

from decaljobs.craft.layout.lying import convex_parts
from decaljobs.craft.layout.rearranging import Arrangement, different_turns, rearranged
from decaljobs.services.squeeze.parts import OutlinePiece, OutlinePlacement, placement

#: Outlines of more convex parts than this, on average of all pieces, take the search too long.
MOST_PARTS = 1.5

#: Corners with half a gap round them, copies, degrees, the real corners (see lanes.py).
Item = list[Any]
Job = dict[str, Any]


def can_be_shortened(items: Sequence[Item]) -> bool:
    """Whether the outlines are convex, or nearly all are."""
    copies = [number for _, number, _, _ in items]
    parts = [len(convex_parts(Polygon(real))) for _, _, _, real in items]
    return float(np.dot(copies, parts)) <= MOST_PARTS * sum(copies)


def shortened(
    job: Job, nesting: Job, *, over: Callable[[], bool], better: Callable[[Job], None]
) -> None:
    """Tell better of every nesting shorter than this one, until over says so."""
    shapes = {number: Polygon(real) for number, (_, _, _, real) in enumerate(job["items"])}
    alike = {
        number: different_turns(shapes[number], sorted((turn + 90) % 360 // 90 for turn in degrees))
        for number, (_, _, degrees, _) in enumerate(job["items"])
    }
    rearranged(
        shapes,
        {number: sorted(set(turns.values())) for number, turns in alike.items()},
        _arrangement(nesting, shapes, alike),
        gap=job["gap"],
        width=job["width"] - job["gap"],
        seed=job["seed"],
        over=over,
        better=lambda found: better(_nesting(found, shapes, job["gap"])),
    )


def rearranged_strip(
    pieces: Sequence[OutlinePiece],
    shapes: Sequence[Polygon],
    strip: Sequence[OutlinePlacement],
    *,
    gap: float,
    width: float,
    over: Callable[[], bool],
) -> list[OutlinePlacement]:
    """A whole strip made shorter, what lay in boxes and what was nested together."""
    numbers = {piece.name: number for number, piece in enumerate(pieces)}
    alike = {
        number: different_turns(shape, _turns(pieces[number], shape, width))
        for number, shape in enumerate(shapes)
    }
    kinds = tuple(numbers[placed.name] for placed in strip)
    found = rearranged(
        dict(enumerate(shapes)),
        {number: sorted(set(turns.values())) for number, turns in alike.items()},
        Arrangement(
            kinds,
            tuple(
                alike[kind][placed.degrees // 90] for kind, placed in zip(kinds, strip, strict=True)
            ),
            np.array([(placed.x, placed.y) for placed in strip]),
            max(placed.y + placed.height for placed in strip),
        ),
        gap=gap,
        width=width,
        over=over,
    )
    placements = []
    for kind, turn, (x, y) in zip(found.kinds, found.turns, found.places.tolist(), strict=True):
        turned = rotate(shapes[kind], 90 * turn, origin=(0, 0))
        moved = translate(turned, x - turned.bounds[0], y - turned.bounds[1])
        placements.append(placement(pieces[kind].name, 90 * turn, moved))
    return placements


def _turns(piece: OutlinePiece, shape: Polygon, width: float) -> list[int]:
    """The quarter turns in which a piece fits the strip, none but upright if it may not turn."""
    left, low, right, high = shape.bounds
    across = {0: right - left, 1: high - low, 2: right - left, 3: high - low}
    return [turn for turn in (range(4) if piece.turn else (0,)) if across[turn] <= width]


def _arrangement(
    nesting: Job, shapes: dict[int, Polygon], alike: dict[int, dict[int, int]]
) -> Arrangement:
    kinds, turns, boxes = [], [], []
    for number, degrees, x, y in nesting["placed"]:
        along = translate(rotate(shapes[number], degrees, origin=(0, 0)), x, y)
        kinds.append(number)
        turns.append(alike[number][(round(degrees) + 90) % 360 // 90])
        boxes.append(rotate(along, 90, origin=(0, 0)).bounds)
    ends = np.array(boxes)
    ends -= np.tile(ends[:, :2].min(axis=0), 2)
    return Arrangement(tuple(kinds), tuple(turns), ends[:, :2], float(ends[:, 3].max()))


def _nesting(found: Arrangement, shapes: dict[int, Polygon], gap: float) -> Job:
    placed = []
    for number, turn, (x, y) in zip(found.kinds, found.turns, found.places.tolist(), strict=True):
        left, low, _, _ = rotate(shapes[number], 90 * turn, origin=(0, 0)).bounds
        placed.append([number, (90 * turn - 90) % 360, y - low, left - x])
    return {"length": found.length + gap, "placed": placed}
