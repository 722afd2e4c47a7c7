"""A nesting made shorter: pieces change places, and what overlaps then is pressed apart. mm.

The strip is taken a little shorter than it is; where that leaves overlaps, pieces that strain most
are moved, exchanged, turned, or taken out with their neighbours and laid anew. What overlaps less
afterwards is kept. Once nothing overlaps the strip is shorter, and it begins again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.random import Generator, default_rng
from shapely import Polygon

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.layout.lying import Lying, outline_turned
from decaljobs.craft.layout.pressing import EXACT, pressed, settled
from decaljobs.craft.layout.spots import Grid, Turned

#: The strip is taken shorter by this share (tried out, as all that follows).
SHORTER = 0.004
#: A change may overlap more than before by this share, times an exponential chance.
WORSE = 0.03
#: How often pieces are laid anew, turned, or moved; else two are exchanged.
ANEW, TURN, MOVE = 0.2, 0.05, 0.25
#: A round moves pieces by at most so many mm, then half as much, down to SHORTEST; in ROUNDS.
FARTHEST, SHORTEST, ROUNDS = 2.5, 1.0, 10
#: A change that leaves so many times the overlap allowed, and so many mm more, is given up.
HOPELESS, MORE = 1.5, 1.0
#: A round that takes off less than this share of the overlap is followed by shorter moves.
LITTLE = 0.02
#: A spot nearer to where the piece lies than this many mm is no other spot.
ELSEWHERE = 6.0
#: Turns whose overlaps differ by less than so many mm² are taken by chance.
EITHER = 8.0


@dataclass(frozen=True)
class Arrangement:
    """What lies where: the number and the turn of each piece, and its box's place (n, 2) mm."""

    kinds: tuple[int, ...]
    turns: tuple[int, ...]
    places: Numbers
    length: float


@dataclass(frozen=True)
class _Tried:
    """An arrangement on a strip too short for it: its overlap, mm, and each piece's strain."""

    turns: list[int]
    places: Numbers
    overlap: float
    strain: Numbers


def different_turns(shape: Polygon, allowed: Sequence[int]) -> dict[int, int]:
    """Each allowed turn in quarters, and the first of them that leaves the outline the same.

    >>> from shapely import box
    >>> different_turns(box(0, 0, 20, 10), [0, 1, 2, 3])
    {0: 0, 1: 1, 2: 0, 3: 1}
    """
    first: dict[int, int] = {}
    shapes = {turn: outline_turned(shape, turn).shape for turn in allowed}
    for turn in allowed:
        like = (
            known
            for known in set(first.values())
            if shapes[known].symmetric_difference(shapes[turn]).area < shape.area / 1000
        )
        first[turn] = next(like, turn)
    return first


def rearranged(
    shapes: Mapping[int, Polygon],
    turns: Mapping[int, Sequence[int]],
    start: Arrangement,
    *,
    gap: float,
    width: float,
    seed: int = 0,
    over: Callable[[], bool],
    better: Callable[[Arrangement], None] = lambda found: None,
) -> Arrangement:
    """The shortest arrangement found on a strip, mm, until over says that the time is over.

    Each piece lies in one of the turns of its kind, in quarters; better is told every shorter
    arrangement. Never longer than the start.

    >>> from shapely import box
    >>> column = np.array([[0.0, 0.0], [0.0, 23.0], [0.0, 46.0]])
    >>> start = Arrangement((0, 0, 0), (0, 0, 0), column, 66.0)
    >>> tries = iter(range(200))
    >>> found = rearranged({0: box(0, 0, 20, 20)}, {0: [0]}, start, gap=3, width=43,
    ...     over=lambda: next(tries) > 100)
    >>> round(found.length, 2)
    43.0
    """
    search = _Search(shapes, turns, start, gap, width, default_rng(seed), over)
    best = search.as_short_as_it_goes(start)
    if best.length < start.length:
        better(best)
    tried = search.begun(best)
    while tried is not None and not over():
        if tried.overlap < 2 * EXACT:
            found = search.as_short_as_it_goes(search.arrangement(tried, best.length))
            if found.length < best.length:
                best = found
                better(best)
            tried = search.begun(best)
        else:
            tried = search.changed(tried)
    return best


class _Search:
    """One search; what its steps need of each other."""

    def __init__(
        self,
        shapes: Mapping[int, Polygon],
        turns: Mapping[int, Sequence[int]],
        start: Arrangement,
        gap: float,
        width: float,
        chance: Generator,
        over: Callable[[], bool],
    ) -> None:
        self.kinds, self.gap, self.width = start.kinds, gap, width
        self.chance, self.over, self.length = chance, over, start.length
        self.turned = {
            kind: {turn: Turned(outline_turned(shapes[kind], turn), gap) for turn in turns[kind]}
            for kind in set(start.kinds)
        }
        self.areas = np.array([shapes[kind].area for kind in start.kinds])

    def piece(self, number: int, turn: int) -> Turned:
        return self.turned[self.kinds[number]][turn]

    def arrangement(self, tried: _Tried, length: float) -> Arrangement:
        return Arrangement(self.kinds, tuple(tried.turns), tried.places, length)

    def as_short_as_it_goes(self, found: Arrangement) -> Arrangement:
        """Pressed together without any change of place; itself where that gains nothing."""
        lying = self._lying(found.turns)
        short = settled(lying, found.places, gap=self.gap, width=self.width, over=self.over)
        if short is None or short.length >= found.length:
            return found
        return Arrangement(self.kinds, found.turns, short.places, short.length)

    def begun(self, best: Arrangement) -> _Tried | None:
        """The best on a strip that is too short for it."""
        self.length = best.length * (1 - SHORTER)
        return self._pressed(list(best.turns), best.places, inf)

    def changed(self, tried: _Tried) -> _Tried:
        """One change more, or none where it overlaps too much."""
        allowed = tried.overlap * (1 + WORSE * self.chance.exponential()) + EXACT
        turns, places = list(tried.turns), tried.places.copy()
        self._change(tried, turns, places)
        if turns == tried.turns and np.array_equal(places, tried.places):
            return tried
        found = self._pressed(turns, places, allowed)
        return found if found is not None and found.overlap <= allowed else tried

    def _lying(self, turns: Sequence[int]) -> Lying:
        return Lying([self.piece(at, turn).outline for at, turn in enumerate(turns)])

    def _pressed(self, turns: list[int], places: Numbers, allowed: float) -> _Tried | None:
        """What is left of the overlap; None once it is plain that it stays too much."""
        lying, farthest, last, rounds = self._lying(turns), FARTHEST, inf, 0
        if (lying.sizes > [self.width, self.length]).any():
            return None
        while True:
            found = pressed(
                lying,
                places,
                gap=self.gap,
                width=self.width,
                farthest=farthest,
                length=self.length,
            )
            if found is None or (rounds >= 2 and found.overlap > HOPELESS * allowed + MORE):
                return None
            places, rounds = found.places, rounds + 1
            if last - found.overlap < LITTLE * max(found.overlap, 0.05):
                farthest /= 2
            small = found.overlap < EXACT or farthest < SHORTEST
            if small or rounds == ROUNDS or self.over():
                return _Tried(turns, found.places, found.overlap, found.strain)
            last = found.overlap

    def _change(self, tried: _Tried, turns: list[int], places: Numbers) -> None:
        strain = np.maximum(tried.strain, 0.0)
        weight = strain / max(strain.max(), EXACT) + 0.02
        number = int(self.chance.choice(len(turns), p=weight / weight.sum()))
        what = self.chance.random()
        if what < ANEW:
            self._lay_anew(number, turns, places)
        elif what < ANEW + TURN:
            self._turn(number, turns, places)
        elif what < ANEW + TURN + MOVE:
            self._move(number, turns, places)
        else:
            self._exchange(number, turns, places)

    def _lay_anew(self, number: int, turns: list[int], places: Numbers) -> None:
        """A piece and some neighbours taken out, and each laid where it overlaps least."""
        count = int(self.chance.integers(2, 5))
        middles = self._middles(turns, places)
        away = np.hypot(*(middles - middles[number]).T) + 15 * self.chance.random(len(turns))
        taken = np.argsort(away)[:count]
        grid = self._grid(turns, places, set(taken.tolist()))
        order = -self.areas[taken] * self.chance.uniform(0.5, 1.5, len(taken))
        for at in taken[np.argsort(order)].tolist():
            self._lay(grid, at, turns, places, most=2)
            grid.lay(self.piece(at, turns[at]), places[at])

    def _move(self, number: int, turns: list[int], places: Numbers) -> None:
        grid = self._grid(turns, places, {number})
        self._lay(grid, number, turns, places, most=4, elsewhere=True)

    def _lay(
        self,
        grid: Grid,
        number: int,
        turns: list[int],
        places: Numbers,
        most: int,
        *,
        elsewhere: bool = False,
    ) -> None:
        """A piece to one of its best spots."""
        spots = [
            spot
            for spot in grid.spots(list(self.turned[self.kinds[number]].items()), most)
            if not elsewhere
            or spot.turn != turns[number]
            or abs(spot.x - places[number, 0]) + abs(spot.y - places[number, 1]) > ELSEWHERE
        ]
        if spots:
            spot = spots[min(int(self.chance.exponential()), len(spots) - 1)]
            turns[number] = spot.turn
            places[number] = self._inside(number, spot.turn, np.array([spot.x, spot.y]))

    def _turn(self, number: int, turns: list[int], places: Numbers) -> None:
        others = [turn for turn in self.turned[self.kinds[number]] if turn != turns[number]]
        if others:
            middle = self._middles(turns, places)[number]
            turns[number] = int(self.chance.choice(others))
            places[number] = self._about(number, turns[number], middle)

    def _exchange(self, number: int, turns: list[int], places: Numbers) -> None:
        """Two pieces of about one size change places, each in the turn that overlaps least."""
        others = np.flatnonzero(np.array(self.kinds) != self.kinds[number])
        if not len(others):
            return
        like = np.exp(-3 * np.abs(np.log(self.areas[others] / self.areas[number])))
        other = int(self.chance.choice(others, p=like / like.sum()))
        middles = self._middles(turns, places)
        grid = self._grid(turns, places, {number, other})
        for at, middle in ((number, middles[other]), (other, middles[number])):
            overlaps = {}
            for turn, piece in self.turned[self.kinds[at]].items():
                overlap = grid.overlap(piece, self._about(at, turn, middle))
                overlaps[turn] = overlap + EITHER * self.chance.random()
            turns[at] = min(overlaps, key=overlaps.__getitem__)
            places[at] = self._about(at, turns[at], middle)

    def _middles(self, turns: Sequence[int], places: Numbers) -> Numbers:
        sizes = [self.piece(at, turn).outline.size for at, turn in enumerate(turns)]
        return places + np.array(sizes) / 2

    def _about(self, number: int, turn: int, middle: Numbers) -> Numbers:
        return self._inside(number, turn, middle - self.piece(number, turn).outline.size / 2)

    def _inside(self, number: int, turn: int, place: Numbers) -> Numbers:
        """The place, or the nearest to it where the piece lies inside the strip."""
        size = self.piece(number, turn).outline.size
        return np.clip(place, 0.0, np.maximum([self.width, self.length] - size, 0.0))

    def _grid(self, turns: Sequence[int], places: Numbers, without: set[int]) -> Grid:
        lying = (
            (self.piece(at, turn), places[at]) for at, turn in enumerate(turns) if at not in without
        )
        return Grid(self.width, self.length, self.gap, lying)
