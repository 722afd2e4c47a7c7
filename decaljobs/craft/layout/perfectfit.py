"""Search for a layout without any waste, where the pieces' area allows one.

Pieces go into the lowest gap in an order of preference, pieces that fit exactly first; a piece
that leaves a stretch no sum of sides can fill is not laid at all. After a dead end the search
takes back a limited number of pieces, then the order is changed a little: two kinds swapped, one
moved, or one turned; a change stays if at least as much area was laid.
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from decaljobs.craft.layout.firstlayout import Fill, Laid
from decaljobs.craft.layout.skyline import NOBODY, Skyline, laid
from decaljobs.craft.layout.stock import Stock

#: More pieces than this are not worth a try.
MOST_PIECES = 120
#: Pieces laid beyond the first descent before an order is given up (tried out).
TAKEN_BACK = 150
#: Changes without gain before a new order is drawn (tried out).
PATIENCE = (15, 60, 150)
#: Preference for an exact width, a top level with the left, and with the right wall (tried out).
PREFERENCES = ((3, 2, 2), (2, 2, 0), (3, 1, 1), (2, 3, 2))
#: How much one place in the order counts against those preferences (tried out).
RANKS = (0.02, 0.1, 0.5)
#: Spread of the chance in a newly drawn order (tried out).
SPREADS = (0.0, 0.5, 1.0, 2.0)

MEASURES: tuple[Callable[[int, int], float], ...] = (
    lambda side, other: side * other,
    lambda side, other: max(side, other),
    lambda side, other: side + other,
    lambda side, other: min(side, other),
)


def can_be_perfect(stock: Stock) -> bool:
    """Whether area and grain leave a layout without waste possible.

    >>> can_be_perfect(Stock(10, [(5, 4, 4, True)])), can_be_perfect(Stock(10, [(5, 3, 3, True)]))
    (True, False)
    """
    return stock.step == 1 and stock.pieces <= MOST_PIECES and stock.total % stock.width == 0


class GivenUp(Exception):
    """This order has had its share of the search."""


class PerfectFit:
    """Tries order after order to fill width × (area ÷ width) without waste."""

    def __init__(self, stock: Stock, random: Random) -> None:
        self.stock, self.random = stock, random
        self.length = stock.total // stock.width
        longest = max(self.length, stock.width)
        self.fills = [lost == 0 for lost in stock.losses(stock.counts, longest).tolist()]
        self.kinds = len(stock.counts)
        self.ways_of: list[list[int]] = [[] for _ in range(self.kinds)]
        for number, (_, _, kind) in enumerate(stock.ways):
            self.ways_of[kind].append(number)
        self.trail: list[Laid] = []
        self._draw()

    def tries(self, number: int, over: Callable[[], bool]) -> Fill | None:
        """That many orders; the perfect layout if one of them led there."""
        for _ in range(number):
            if over():
                return None
            if self._descend():
                return Fill(tuple(self.trail), (0,) * self.kinds, self.length)
            self._change()
        return None

    def _draw(self) -> None:
        """A new order and new preferences."""
        pick, chance = self.random.choice, self.random.random
        measure, spread = pick(MEASURES), pick(SPREADS)
        wish = [
            measure(*self.stock.ways[ways[0]][:2]) * (1 + spread * chance())
            for ways in self.ways_of
        ]
        self.order = sorted(range(self.kinds), key=lambda kind: -wish[kind])
        self.flips = [chance() < 0.3 for _ in range(self.kinds)]
        self.kept = (self.order, self.flips, -1)
        self.preference, self.rank = pick(PREFERENCES), pick(RANKS)
        self.patience, self.stale = pick(PATIENCE), 0

    def _change(self) -> None:
        """Keep the order if it was as good, then alter the kept one a little."""
        if self.most >= self.kept[2]:
            self.stale = 0 if self.most > self.kept[2] else self.stale
            self.kept = (self.order, self.flips, self.most)
        else:
            self.stale += 1
        if self.stale >= self.patience:
            self._draw()
            return
        pick, chance = self.random.randrange, self.random.random
        self.order, self.flips = self.kept[0][:], self.kept[1][:]
        if chance() < 0.3:
            kind = pick(self.kinds)
            self.flips[kind] = not self.flips[kind]
        one, other = pick(self.kinds), pick(self.kinds)
        if chance() < 0.5:
            self.order[one], self.order[other] = self.order[other], self.order[one]
        else:
            self.order.insert(other, self.order.pop(one))

    def _descend(self) -> bool:
        self.counts = list(self.stock.counts)
        self.ways: list[tuple[int, int, int, int]] = []
        for kind in self.order:
            numbers = self.ways_of[kind]
            for number in reversed(numbers) if self.flips[kind] else numbers:
                self.ways.append((*self.stock.ways[number], number))
        self.trail, self.most = [], 0
        self.budget = self.stock.pieces + TAKEN_BACK
        try:
            return self._lay(Skyline([0], [self.stock.width], [NOBODY]), 0)
        except GivenUp:
            return False

    def _lay(self, line: Skyline, area: int) -> bool:
        """Lay one piece and all that follow; False where that leads nowhere."""
        self.most = max(self.most, area)
        if area == self.stock.total:
            return True
        self.budget -= 1
        if self.budget < 0:
            raise GivenUp
        floor = min(line.heights)
        spot = line.heights.index(floor)
        x = sum(line.widths[:spot])
        for _, across, along, kind, number in self._choices(line, floor, spot):
            self.counts[kind] -= 1
            self.trail.append((number, x, floor))
            later = laid(line, spot, across, floor + along)
            if self._lay(later, area + across * along):
                return True
            self.trail.pop()
            self.counts[kind] += 1
        return False

    def _choices(self, line: Skyline, floor: int, spot: int) -> list:
        """What may be laid in the gap, best first: (cost, across, along, kind, way)."""
        heights = line.heights
        width, most = line.widths[spot], self.length - floor
        left = heights[spot - 1] - floor if spot else most
        right = heights[spot + 1] - floor if spot + 1 < len(heights) else most
        exact, level_left, level_right = self.preference
        fills, counts, rank = self.fills, self.counts, self.rank
        choices = []
        cost = 0.0
        for across, along, kind, number in self.ways:
            if across > width or along > most or not counts[kind]:
                continue
            if not (fills[width - across] and fills[most - along]):
                continue
            wish = cost
            if across == width:
                wish -= exact
                if along == right:
                    wish -= level_right
            if along == left:
                wish -= level_left
            choices.append((wish, across, along, kind, number))
            cost += rank
        choices.sort()
        return choices
