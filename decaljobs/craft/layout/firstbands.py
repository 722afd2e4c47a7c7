"""The straight-cut layout shown at once: bands of columns, tallest pieces first."""

from __future__ import annotations

from decaljobs.craft.layout.firstlayout import Fill, Laid
from decaljobs.craft.layout.stock import Stock


class FirstBands:
    """Fills bands across the stock's width up to `length` grains until nothing more fits.

    A band is as tall as its first piece; further pieces stand beside it, equal ones stacked
    while they fit. Every band, column and piece is freed by cuts from edge to edge.
    """

    def __init__(self, stock: Stock, length: int) -> None:
        self.stock, self.length = stock, length
        self.counts = list(stock.counts)
        self.done: list[Laid] = []
        self.top = 0
        numbered = [
            (along, across, kind, way) for way, (across, along, kind) in enumerate(stock.ways)
        ]
        low = [way for way in numbered if way[0] <= way[1] or not self._turns(way[2])]
        self.tallest_first = sorted(numbered, key=lambda way: (-way[0], -way[1], way[3]))
        self.low_first = sorted(low, key=lambda way: (-way[0], -way[1], way[3]))

    def _turns(self, kind: int) -> bool:
        return len(self.stock.sides[kind]) > 1

    def fill(self) -> Fill:
        """Lay bands until no piece is left or nothing more fits."""
        while any(self.counts) and self._band():
            pass
        return Fill(tuple(self.done), tuple(self.counts), self.top)

    def _band(self) -> bool:
        opening = self._opening()
        if opening is None:
            return False
        tall, x = opening, 0
        for along, across, kind, way in self.tallest_first:
            while self.counts[kind] and along <= tall and x + across <= self.stock.width:
                for level in range(min(self.counts[kind], tall // along)):
                    self.done.append((way, x, self.top + level * along))
                    self.counts[kind] -= 1
                x += across
        self.top += tall
        return True

    def _opening(self) -> int | None:
        """Height of the next band: the tallest piece left, lying flat where it may."""
        width, room = self.stock.width, self.length - self.top
        for ways in (self.low_first, self.tallest_first):
            for along, across, kind, _ in ways:
                if self.counts[kind] and across <= width and along <= room:
                    return along
        return None
