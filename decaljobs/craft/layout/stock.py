"""What is still to be laid out, in whole grains: the search counts, it does not measure."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

#: Fill tables have about this many steps across the film: 0.1 mm on A4.
FILL_STEPS = 2_000


class Stock:
    """Kinds of rectangles (gap included) with their counts, for film of one width.

    `kinds` holds (side, other side, count, may be turned) in grains. A way is one manner of
    lying: (across, along, kind).
    """

    def __init__(self, width: int, kinds: Sequence[tuple[int, int, int, bool]]) -> None:
        self.width = width
        self.counts = [count for _, _, count, _ in kinds]
        self.areas = [side * other for side, other, _, _ in kinds]
        self.total = sum(a * n for a, n in zip(self.areas, self.counts, strict=True))
        self.pieces = sum(self.counts)
        self.mean_area = self.total / self.pieces
        self.ways: list[tuple[int, int, int]] = []
        self.sides: list[tuple[int, ...]] = []
        for kind, (side, other, _, turn) in enumerate(kinds):
            lying = [(side, other)]
            if turn and side != other:
                lying.append((other, side))
            self.ways += [(across, along, kind) for across, along in lying]
            self.sides.append(tuple({across for across, _ in lying} | {a for _, a in lying}))
        self.narrowest = min(min(sides) for sides in self.sides)
        self.step = max(1, width // FILL_STEPS)
        across, along, kind_of = zip(*self.ways, strict=True)
        self.across = np.array(across, dtype=float)
        self.along = np.array(along, dtype=float)
        self.kind_of = np.array(kind_of)
        self.areas_row = np.array(self.areas, dtype=float)
        self.way_area = self.across * self.along

    def area_of(self, counts: Sequence[int]) -> int:
        """Area of that many pieces of each kind, square grains."""
        return sum(area * number for area, number in zip(self.areas, counts, strict=True))

    def losses(self, counts: Sequence[int], longest: int) -> np.ndarray:
        """What stays empty at best of a stretch, grains, per step of stretch up to `longest`.

        A stretch is filled by sides laid end to end; the answer is exact where the step is one
        grain, else a guide good to a step or two.
        """
        steps = longest // self.step + 2
        mask = (1 << (steps + 1)) - 1
        reached = 1
        for sides, count in zip(self.sides, counts, strict=True):
            for side in sides:
                shift = round(side / self.step)
                for _ in range(min(count, steps // max(1, shift))):
                    reached |= (reached << shift) & mask
        raw = np.frombuffer(reached.to_bytes(steps // 8 + 1, "little"), dtype=np.uint8)
        filled = np.unpackbits(raw, bitorder="little")[:steps].astype(bool)
        place = np.arange(steps)
        lost = place - np.maximum.accumulate(np.where(filled, place, 0))
        slop = 1 if self.step > 1 else 0
        return np.where(lost > slop, lost * self.step, 0).astype(float)
