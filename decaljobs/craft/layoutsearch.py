"""Ever shorter layouts of one stock, until the time or the tries given are over."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from random import Random

import numpy as np

from decaljobs.craft.firstlayout import Fill, FirstLayout
from decaljobs.craft.layoutbeam import ENDLESS, Front, Manner
from decaljobs.craft.layoutstock import Stock
from decaljobs.craft.perfectfit import PerfectFit, can_be_perfect
from decaljobs.craft.skylinebeam import SkylineBeam

#: Up to this many pieces a layout is searched as a whole; more are searched from a dense start.
WHOLE = 60
#: Pieces left for the end of a long layout.
ENDING = 50
#: Orders tried for a layout without waste, in turns with one beam.
PERFECT_TRIES = 40
#: The next layout must close this share of the distance to a layout without waste.
AIM = 0.03
#: Below this share of waste a layout must fit together almost without gaps.
TIGHT = 0.003


class Limit:
    """How long to search: that many tries, or else that many seconds of the clock given."""

    def __init__(
        self, seconds: float, tries: int | None, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self.tries, self.clock, self.seconds = tries, clock, seconds
        self.until = clock() + seconds if tries is None else None

    def tried(self) -> None:
        """One try was made."""
        if self.tries is not None:
            self.tries -= 1

    def over(self) -> bool:
        """True once no further try may begin."""
        return self.cut() if self.tries is None else self.tries <= 0

    def cut(self) -> bool:
        """True once even a try under way must end; tries by number always end by themselves."""
        return self.until is not None and self.clock() >= self.until


class StripSearch:
    """Lays a stock on film of its width, shorter and shorter."""

    def __init__(self, stock: Stock, seed: int, limit: Limit, length: int = ENDLESS) -> None:
        self.stock, self.limit, self.length = stock, limit, length
        self.random = Random(seed)
        self.noise = np.random.default_rng(seed)
        self.least = -(-stock.total // stock.width)
        self.best: Fill | None = None
        self.starts: list[Front] = []
        self.perfect = PerfectFit(stock, self.random) if can_be_perfect(stock) else None
        self.turn = 0

    def improved(self) -> Iterator[Fill]:
        """The first layout, then each that is shorter than the one before."""
        first = FirstLayout(self.stock, ENDLESS).fill(over=self.limit.cut)
        if not any(first.counts) and first.top <= self.length:
            self.best = first
            yield first
        while not self.limit.over() and not self._perfect():
            self.limit.tried()
            found = self._try()
            if found is not None:
                self.best = found
                yield found

    def _perfect(self) -> bool:
        return self.best is not None and self.best.top <= self.least

    def _target(self) -> int:
        """The length the next layout may have at most, grains."""
        if self.best is None:
            return self.length
        spare = self.best.top - self.least
        return self.best.top - max(1, round(AIM * spare))

    def _try(self) -> Fill | None:
        self.turn += 1
        if self.perfect is not None and self.turn % 2:
            return self.perfect.tries(PERFECT_TRIES, self.limit.cut)
        if not self.starts:
            self.starts.append(self._start())
        beam = SkylineBeam(self.stock, self._target(), self._manner(), self.noise)
        return beam.finish(self.random.choice(self.starts), self.limit.cut)

    def _start(self) -> Front:
        front = SkylineBeam.empty(self.stock)
        if self.stock.pieces <= WHOLE:
            return front
        manner = Manner(breadth=50, step=0.04, pull=0.01, noise=0.0)
        grown = SkylineBeam(self.stock, ENDLESS, manner, self.noise).grow(
            front, ENDING, self.limit.cut
        )
        return grown or front

    def _manner(self) -> Manner:
        pick = self.random.choice
        spare = self._target() * self.stock.width - self.stock.total
        if spare < TIGHT * self.stock.total:
            return Manner(
                breadth=60,
                step=pick((0.03, 0.06, 0.1)),
                pull=pick((0.1, 0.2, 0.4)),
                noise=pick((0.01, 0.03)),
                refresh=4,
            )
        return Manner(
            breadth=pick((50, 100)),
            step=pick((0.04, 0.07, 0.1)),
            pull=pick((0.03, 0.06, 0.12)),
            noise=pick((0.005, 0.015, 0.03)),
            top=pick((0.3, 0.6)),
            sliver=pick((0.3, 0.7)),
        )
