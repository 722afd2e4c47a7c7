"""The layout shown at once: one piece after another into the lowest gap, without looking back."""

from __future__ import annotations

from dataclasses import dataclass

from decaljobs.craft.layout.skyline import NOBODY, Skyline, laid
from decaljobs.craft.layout.stock import Stock

#: Ways looked at per gap, largest pieces first; more would make the first layout slow.
LOOKED_AT = 120
#: Cost of a step in the skyline, as a share of the mean piece's area (tried out).
STEP = 0.05
#: How much large pieces are wanted first, as a share of their area (tried out).
PULL = 0.02

Laid = tuple[int, int, int]


@dataclass(frozen=True)
class Fill:
    """Pieces laid, each (way, x, y) in grains, what is left by kind, and the highest edge."""

    laid: tuple[Laid, ...]
    counts: tuple[int, ...]
    top: int


class FirstLayout:
    """Fills film of the stock's width up to `length` grains until nothing more fits."""

    def __init__(self, stock: Stock, length: int, counts: list[int] | None = None) -> None:
        self.stock, self.length = stock, length
        self.counts = list(counts or stock.counts)
        self.step = STEP * stock.mean_area
        self.losses = stock.losses(self.counts, stock.width).tolist()
        self.ways = self._by_size()
        self.narrowest = min(min(across, along) for across, along, *_ in self.ways)
        self.line = Skyline([0], [stock.width], [NOBODY])
        self.done: list[Laid] = []
        self.highest = 0

    def _by_size(self) -> list[tuple[int, int, int, float, int]]:
        """Every way as (across, along, kind, wish, number), the largest pieces first."""
        areas = self.stock.areas
        ways = [
            (across, along, kind, -PULL * areas[kind], number)
            for number, (across, along, kind) in enumerate(self.stock.ways)
            if self.counts[kind]
        ]
        return sorted(ways, key=lambda way: (way[3], way[4]))

    def fill(self) -> Fill:
        """Lay pieces until none is left or nothing more fits."""
        left = sum(self.counts)
        while left:
            floor = min(self.line.heights)
            if floor >= self.length:
                break
            if self._lay(floor, self.line.heights.index(floor)):
                left -= 1
        return Fill(tuple(self.done), tuple(self.counts), self.highest)

    def _lay(self, floor: int, spot: int) -> bool:
        """Lay the best piece in the lowest gap, or raise the gap; says which."""
        best = self._choose(floor, spot)
        if best is None:
            top = min(self._wall(spot - 1), self._wall(spot + 1))
            across = self.line.widths[spot]
        else:
            across, along, kind, _, number = best
            top = floor + along
            self.done.append((number, sum(self.line.widths[:spot]), floor))
            self.highest = max(self.highest, top)
            self._take(kind)
        self.line = laid(self.line, spot, across, top)
        return best is not None

    def _take(self, kind: int) -> None:
        self.counts[kind] -= 1
        if not self.counts[kind]:
            self.ways = [way for way in self.ways if way[2] != kind]

    def _wall(self, spot: int) -> int:
        return self.line.heights[spot] if 0 <= spot < len(self.line.heights) else self.length

    def _choose(self, floor: int, spot: int) -> tuple[int, int, int, float, int] | None:
        width, step, losses, grain = self.line.widths[spot], self.step, self.losses, self.stock.step
        if width < self.narrowest:
            return None
        left, right = self._wall(spot - 1), self._wall(spot + 1)
        left_width = self.line.widths[spot - 1] if spot else 0
        right_width = self.line.widths[spot + 1] if spot + 1 < len(self.line.widths) else 0
        low = min(left, right)
        depth, most = low - floor, self.length - floor
        best, chosen = self._raising(width, depth, low, left == right), None
        looked_at = 0
        for way in self.ways:
            across, along, _, cost, _ = way
            if across > width or along > most:
                continue
            rise = floor + along - left
            if left_width:
                rise = rise * left_width if rise > 0 else -rise * across
                cost += rise if rise < step else step
            if across < width:
                cost += step + losses[(width - across) // grain] * min(depth, along)
            elif right_width:
                rise = floor + along - right
                rise = rise * right_width if rise > 0 else -rise * across
                cost += rise if rise < step else step
            if cost < best:
                best, chosen = cost, way
            looked_at += 1
            if looked_at == LOOKED_AT:
                break
        return chosen

    def _raising(self, width: int, depth: int, low: int, both: bool) -> float:
        """Cost of giving the gap up; infinite where there is nothing to raise it to."""
        if low >= self.length:
            return float("inf")
        return width * depth - self.step * (2 if both else 1)
