"""Ever better layouts of one stock, until the time or the tries given are over."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from random import Random

import numpy as np

from decaljobs.craft.layout.beam import ENDLESS, Beam, Front, Manner
from decaljobs.craft.layout.firstbands import FirstBands
from decaljobs.craft.layout.firstlayout import Fill, FirstLayout
from decaljobs.craft.layout.perfectfit import PerfectFit, can_be_perfect
from decaljobs.craft.layout.skylinebeam import SkylineBeam
from decaljobs.craft.layout.stock import Stock
from decaljobs.craft.layout.straightbeam import StraightBeam
from decaljobs.craft.layout.straightjoins import JoinManner, Joins

#: Up to this many pieces a layout is searched as a whole; more are searched from a dense start.
WHOLE = 60
#: Pieces left where the search for the end of a long layout begins (tried out).
ENDINGS = (40, 30, 22, 15)
#: Tries from one dense start before another one is made (tried out).
TRIES_PER_START = 14
#: Orders tried for a layout without waste, in turns with one beam (tried out).
PERFECT_TRIES = 40
#: The next layout must close this share of the distance to a layout without waste (tried out).
AIM = 0.03
#: Below this share of waste a layout must fit together almost without gaps (tried out).
TIGHT = 0.003
#: Gain of a copy beside its like, as a share of the mean piece's area (tried out).
NEAR = 0.012
#: Share of the time that a dense start may take, and one try to fill a film (tried out).
START_SHARE, FILL_SHARE = 0.35, 0.4
#: Seconds that one move of one layout takes (measured), and the fewest layouts worth a beam.
MOVE_SECONDS, LEAST_BREADTH = 1.4e-5, 5
#: Up to this many pieces on a film it is filled by joining too, in turns with a beam, if there are
#: so many seconds for it (tried out).
FEW, JOIN_SECONDS = 20, 0.015
#: How they are joined, turn by turn (tried out).
JOINS = (
    JoinManner(600, 300),
    JoinManner(1200, 600),
    JoinManner(2400, 900),
    JoinManner(1200, 600, noise=0.02),
)


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

    def share(self, part: float) -> Limit:
        """A limit for a part (0 to 1) of what is left; its tries are taken off this one."""
        if self.tries is not None:
            tries = min(self.tries, max(1, round(self.tries * part)))
            self.tries -= tries
            return Limit(self.seconds * part, tries, self.clock)
        left = max(0.0, (self.until or 0.0) - self.clock())
        return Limit(left * part, None, self.clock)


class Search:
    """What the searches for a short and for a full layout have in common."""

    def __init__(
        self,
        stock: Stock,
        length: int,
        limit: Limit,
        *,
        seed: int,
        straight: bool = False,
        together: bool = False,
    ) -> None:
        self.stock, self.length, self.limit, self.straight = stock, length, limit, straight
        self.random = Random(seed)
        self.noise = np.random.default_rng(seed)
        self.near = NEAR if together else 0.0
        self.kind_of_beam: type[Beam] = StraightBeam if straight else SkylineBeam
        self.best: Fill | None = None

    def _first(self, length: int) -> Fill:
        first = FirstBands if self.straight else FirstLayout
        return first(self.stock, length).fill()

    def _beam(self, length: int, manner: Manner) -> Beam:
        return self.kind_of_beam(self.stock, length, manner, self.noise)

    def _affordable(self, breadth: int, moves: int, share: float) -> int:
        """That breadth, or less where so many moves would take more than a share of the time."""
        cost = MOVE_SECONDS * (1 + len(self.stock.ways) / 300) * (2 if self.straight else 1)
        return max(LEAST_BREADTH, min(breadth, int(share * self.limit.seconds / (moves * cost))))

    def _manner(self) -> Manner:
        pick = self.random.choice
        if self.straight:
            return Manner(
                breadth=pick((40, 80)),
                step=pick((0.2, 0.3, 0.5)),
                pull=pick((0.04, 0.08, 0.12)),
                noise=pick((0.005, 0.02)),
                sliver=pick((0.3, 0.6)),
                near=self.near,
                refresh=4,
            )
        return Manner(
            breadth=pick((50, 100) if self.stock.pieces <= WHOLE else (30, 60)),
            step=pick((0.04, 0.07, 0.1)),
            pull=pick((0.03, 0.06, 0.12)),
            noise=pick((0.005, 0.015, 0.03)),
            top=pick((0.3, 0.6)),
            sliver=pick((0.3, 0.7)),
            near=self.near,
        )


class StripSearch(Search):
    """Lays the whole stock, shorter and shorter, on at most `length` grains of film."""

    def improved(self) -> Iterator[Fill]:
        """The first layout that is short enough, then each that is shorter than the last."""
        self.least = -(-self.stock.total // self.stock.width)
        self.perfect = None
        if not self.straight and can_be_perfect(self.stock):
            self.perfect = PerfectFit(self.stock, self.random)
        self.starts: list[Front] = []
        self.turn = 0
        first = self._first(ENDLESS)
        if not any(first.counts) and first.top <= self.length:
            self.best = first
            yield first
        while not self.limit.over() and not self._perfect():
            self.limit.tried()
            found = self._try()
            if found is not None and (self.best is None or found.top < self.best.top):
                self.best = found
                yield found

    def _perfect(self) -> bool:
        return self.least > self.length or (self.best is not None and self.best.top <= self.least)

    def _target(self) -> int:
        """The length the next layout may have at most, grains."""
        if self.best is None:
            return self.length
        return self.best.top - max(1, round(AIM * (self.best.top - self.least)))

    def _try(self) -> Fill | None:
        self.turn += 1
        if self.perfect is not None and self.turn % 2:
            return self.perfect.tries(PERFECT_TRIES, self.limit.cut)
        if not self.starts or self.turn % TRIES_PER_START == 0:
            self.starts = self._begin()
        beam = self._beam(self._target(), self._manner_for_target())
        return beam.finish(self.random.choice(self.starts), self.limit.cut)

    def _manner_for_target(self) -> Manner:
        pick = self.random.choice
        spare = self._target() * self.stock.width - self.stock.total
        if self.straight or spare >= TIGHT * self.stock.total:
            return self._manner()
        return Manner(
            breadth=60,
            step=pick((0.03, 0.06, 0.1)),
            pull=pick((0.1, 0.2, 0.4)),
            noise=pick((0.01, 0.03)),
            near=self.near,
            refresh=4,
        )

    def _begin(self) -> list[Front]:
        """Where to search on from: nothing laid, or all but the last pieces laid densely."""
        front = self.kind_of_beam.empty(self.stock)
        if self.stock.pieces <= WHOLE:
            return [front]
        beam, fronts = self._beam(ENDLESS, self._start_manner()), []
        for enough in ENDINGS:
            grown = beam.grow(front, enough, self.limit.cut)
            if grown is None:
                break
            fronts.append(grown)
            front = grown
        return fronts or [front]

    def _start_manner(self) -> Manner:
        pick = self.random.choice
        return Manner(
            breadth=self._affordable(40, self.stock.pieces, START_SHARE),
            step=0.1 if self.straight else pick((0.028, 0.035)),
            pull=pick((0.01, 0.04)) if self.straight else pick((0.01, 0.015, 0.02)),
            noise=0.002 if self.starts else 0.0,
            near=self.near,
        )


class FillSearch(Search):
    """Fills a rectangle of the stock's width and `length` as full as it can."""

    def improved(self) -> Iterator[Fill]:
        """The first filling, then each that is fuller than the last."""
        self.best = self._first(self.length)
        self.unused = self.stock.area_of(self.best.counts)
        yield self.best
        least = max(0, self.stock.total - self.length * self.stock.width)
        empty = self.kind_of_beam.empty(self.stock)
        room = self.length * self.stock.width / self.stock.mean_area
        moves = max(1, min(self.stock.pieces, round(room)))
        turn = 0
        while not self.limit.over() and self.unused > least:
            self.limit.tried()
            joining = moves <= FEW and self.limit.seconds >= JOIN_SECONDS and turn % 2 == 0
            found = self._joined(turn // 2) if joining else self._beamed(empty, moves)
            turn += 1
            if found is not None and self.stock.area_of(found.counts) < self.unused:
                self.best, self.unused = found, self.stock.area_of(found.counts)
                yield found

    def _beamed(self, empty: Front, moves: int) -> Fill | None:
        manner = self._manner()
        breadth = self._affordable(manner.breadth, moves, FILL_SHARE)
        beam = self._beam(self.length, replace(manner, breadth=breadth))
        return beam.fill(empty, self.limit.cut)

    def _joined(self, turn: int) -> Fill | None:
        """By joining, ever more blocks at once; where that was all, with other likings."""
        manner = JOINS[min(turn, len(JOINS) - 1)]
        return Joins(self.stock, self.length, manner, self.noise).fill(self.limit.cut)
