"""One run of the knife in places along it: what matters for its chance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from decaljobs.craft.art.rings import Lengths, Points, signed_area

# mm along the line between its places, how many of them do, and the farthest they lie apart
STEP, MOST_PLACES, FARTHEST_APART = 0.25, 600, 1.0


@dataclass(frozen=True, eq=False)
class CutRun:
    """One closed line of the knife, in places along it: what matters for its chance.

    Room in mm outwards to the art's edge and inwards to the light, the outward normal (n, 2)
    and the length of line in mm that each place stands for.
    """

    outward: Lengths
    inward: Lengths
    normal: Points
    length: Lengths

    def with_band(self, width_mm: float) -> CutRun:
        """The same line midway in an even band of this width."""
        half = np.full(len(self.length), width_mm / 2)
        return CutRun(half, half, self.normal, self.length)

    def widened(self, by_mm: float) -> CutRun:
        """The same line after the band has been widened and the line moved midway again."""
        # where light art touched the edge the line ran inside it; now it can run midway
        touching = self.inward <= 0
        middle = np.maximum((self.outward + self.inward) / 2, 0.0)
        outward = np.where(touching, middle, self.outward) + by_mm / 2
        inward = np.where(touching, middle, self.inward) + by_mm / 2
        return CutRun(outward, inward, self.normal, self.length)


Piece = Sequence[CutRun]


def cut_run(ring: Points, outward: Lengths, inward: Lengths, step_mm: float = STEP) -> CutRun:
    """Places along a closed ring (first point not repeated) with its room on both sides, mm.

    About `step_mm` apart, at most 600 or 1 mm apart; each takes the least room of its stretch,
    or narrow places as short as a stretch would seem wider than they are.

    >>> turn = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    >>> ring, room = 5 * np.column_stack([np.cos(turn), np.sin(turn)]), np.full(400, 0.4)
    >>> run = cut_run(ring, room, room)
    >>> len(run.length), round(float(run.length.sum()), 1), run.normal[0].round(1).tolist()
    (126, 31.4, [1.0, 0.0])
    """
    stretch = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    length = float(stretch.sum())
    count = max(8, min(round(length / step_mm), MOST_PLACES), round(length / FARTHEST_APART))
    along = np.cumsum(stretch) - stretch / 2
    places = np.minimum((along / length * count).astype(int), count - 1)
    tangent = np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)
    normal = np.column_stack([tangent[:, 1], -tangent[:, 0]]) * np.sign(signed_area(ring))
    mean = np.stack([np.bincount(places, stretch * axis, count) for axis in normal.T], axis=1)
    direction: Points = mean / np.maximum(np.hypot(*mean.T), 1e-12)[:, None]
    room = [np.full(count, np.inf) for _ in range(2)]
    for least, value in zip(room, (outward, inward), strict=True):
        np.minimum.at(least, places, value)
    return CutRun(room[0], room[1], direction, np.full(count, length / count, float))
