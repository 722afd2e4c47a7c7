"""One run of the knife in places along it: what matters for its chance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from decaljobs.craft.outlines import Lengths, Points

# mm along the line between the places that are summed, and how many of them do
STEP, MOST_PLACES = 0.25, 600


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

    About `step_mm` apart; each takes the mean room of its stretch.
    """
    stretch = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    count = min(max(8, round(float(stretch.sum()) / step_mm)), MOST_PLACES)
    along = np.cumsum(stretch) - stretch / 2
    places = np.minimum((along / stretch.sum() * count).astype(int), count - 1)
    weight = np.maximum(np.bincount(places, stretch, count), 1e-12)
    tangent = np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)
    normal = np.column_stack([tangent[:, 1], -tangent[:, 0]]) * np.sign(_area(ring))
    means = [
        np.bincount(places, stretch * value, count) / weight
        for value in (outward, inward, normal[:, 0], normal[:, 1])
    ]
    direction = np.column_stack(means[2:])
    direction /= np.maximum(np.hypot(*direction.T), 1e-12)[:, None]
    return CutRun(means[0], means[1], direction, weight)


def _area(ring: Points) -> float:
    x, y = ring.T
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())
