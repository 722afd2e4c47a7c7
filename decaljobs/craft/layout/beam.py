"""Beam search for a filled rectangle: many half-finished layouts side by side, the best go on.

What a half-finished layout is, and how its next moves are judged, is left to the two kinds of
beam: over skylines (`skylinebeam`) and over straight cuts (`straightbeam`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from decaljobs.craft.layout.firstlayout import Fill
from decaljobs.craft.layout.stock import Stock

#: Stands for 'no end' of an endless strip, grains.
ENDLESS = 10**10


@dataclass(frozen=True)
class Manner:
    """How a beam judges; costs are shares of the mean piece's area (defaults tried out).

    breadth: layouts kept; step: cost of a wall that some later piece must meet; pull: how much
    large pieces are wanted first; noise: spread of a random liking per piece and turn; sliver,
    top: weight of film that will stay empty beside and above; near: gain of a copy beside a
    copy of the same decal; refresh: moves between two looks at what is left.
    """

    breadth: int = 50
    step: float = 0.06
    pull: float = 0.03
    noise: float = 0.01
    sliver: float = 0.7
    top: float = 0.3
    near: float = 0.0
    refresh: int = 8


class State(NamedTuple):
    """A half-finished layout; `trail` is (earlier trail, way, x, y) back to the start.

    score (what it is judged by) and slack (film it may still waste) in square grains; left: pieces
    still to be laid.
    """

    shape: Any
    score: float
    slack: float
    left: int
    trail: tuple | None


class Front(NamedTuple):
    """Layouts of one depth with the pieces each has left (one row a layout)."""

    states: list[State]
    counts: np.ndarray


class Beam:
    """Fills a rectangle of the stock's width and `length` grains, or ENDLESS."""

    def __init__(
        self, stock: Stock, length: int, manner: Manner, random: np.random.Generator
    ) -> None:
        self.stock, self.length, self.manner = stock, length, manner
        mean = stock.mean_area
        self.step_cost = manner.step * mean
        self.near = manner.near * mean
        liking = manner.noise * mean * random.random(len(stock.ways))
        self.all_liking = liking - manner.pull * stock.way_area
        self.longest = min(length, 2 * stock.width)

    @staticmethod
    def empty(stock: Stock) -> Front:
        """Nothing laid yet: each kind of beam begins with a shape of its own."""
        raise NotImplementedError

    def finish(self, front: Front, over: Callable[[], bool]) -> Fill | None:
        """All pieces laid, as short as this beam can; None where it cannot or time is over."""
        for later in self._onward(self._start(front, spare=False), over):
            done = [row for row, state in enumerate(later.states) if not state.left]
            if done:
                best = min(done, key=lambda row: self._top(later.states[row]))
                return self._fill_of(later, best)
        return None

    def grow(self, front: Front, enough: int, over: Callable[[], bool]) -> Front | None:
        """The front once its best layout has at most `enough` pieces left."""
        for later in self._onward(self._start(front, spare=True), over):
            if later.states[0].left <= enough:
                return later
        return None

    def fill(self, front: Front, over: Callable[[], bool]) -> Fill | None:
        """The fullest rectangle met, pieces may be left over; None where no move was made."""
        fullest, least = None, float("inf")
        for later in self._onward(self._start(front, spare=True), over):
            unused = later.counts @ self.stock.areas_row
            row = int(unused.argmin())
            if unused[row] < least:
                fullest, least = (later, row), unused[row]
        return None if fullest is None else self._fill_of(*fullest)

    def _onward(self, front: Front, over: Callable[[], bool]) -> Iterator[Front]:
        depth = 0
        while front.states and not over():
            if depth % self.manner.refresh == 0:
                self._look(front.counts.max(axis=0))
            depth += 1
            front = self._advance(front)
            if front.states:
                yield front

    def _look(self, left: np.ndarray) -> None:
        """See which ways are left, and what stretches their sides can still fill."""
        stock = self.stock
        self.losses = stock.losses(left.tolist(), self.longest)
        live = np.flatnonzero(left[stock.kind_of] > 0)
        self.across, self.along = stock.across[live], stock.along[live]
        self.kind_of, self.liking = stock.kind_of[live], self.all_liking[live]
        self.ways = [(*stock.ways[way], way) for way in live.tolist()]

    def _start(self, front: Front, spare: bool) -> Front:
        """The front with the film each layout may waste; without limit if pieces may be left."""
        states, rows = [], []
        rests = front.counts @ self.stock.areas_row
        for row, (state, rest) in enumerate(zip(front.states, rests.tolist(), strict=True)):
            free = float(self.length) * self.stock.width - self._below(state)
            slack = free if spare else free - rest
            if slack >= 0 and self._top(state) <= self.length:
                states.append(state._replace(slack=slack))
                rows.append(row)
        return Front(states, front.counts[rows])

    def _advance(self, front: Front) -> Front:
        """Every layout one move further; only the best are kept."""
        spots = [self._spot(state) for state in front.states]
        keys, scores = self._judge(spots, front.counts)
        states: list[State] = []
        rows: list[int] = []
        used: list[tuple[int, int, int]] = []
        seen = set()
        columns = keys.shape[1]
        for at in self._best(keys.ravel()):
            row, move = divmod(at, columns)
            state, kind, copies = self._child(front.states[row], spots[row], move)
            mark = self._mark(state)
            if mark in seen:
                continue
            seen.add(mark)
            used.append((len(states), kind, copies))
            states.append(state._replace(score=float(scores[row, move])))
            rows.append(row)
            if len(states) == self.manner.breadth:
                break
        return Front(states, self._without(front.counts, rows, used))

    def _best(self, keys: np.ndarray) -> list[int]:
        """The most promising moves, more than will be kept, best first."""
        most = min(keys.size, 3 * self.manner.breadth)
        chosen = np.argpartition(keys, most - 1)[:most]
        chosen = chosen[np.isfinite(keys[chosen])]
        return chosen[np.lexsort((chosen, keys[chosen]))].tolist()

    def _without(
        self, counts: np.ndarray, rows: list[int], used: Sequence[tuple[int, int, int]]
    ) -> np.ndarray:
        counts = counts[rows]
        for row, kind, copies in used:
            if copies:
                counts[row, kind] -= copies
        return counts

    def _lost(self, stretch: np.ndarray) -> np.ndarray:
        """What stays empty of each stretch at best, grains."""
        at = (stretch // self.stock.step).astype(np.int64)
        return self.losses[np.minimum(at, len(self.losses) - 1)]

    def _fill_of(self, front: Front, row: int) -> Fill:
        """One layout of a front with its pieces in the order they were laid."""
        trail = front.states[row].trail
        backwards = []
        while trail is not None:
            trail, *piece = trail
            backwards.append(tuple(piece))
        counts = tuple(front.counts[row].tolist())
        return Fill(tuple(reversed(backwards)), counts, self._top(front.states[row]))

    def _spot(self, state: State) -> tuple:
        """Where the next piece goes, as numbers to judge by."""
        raise NotImplementedError

    def _judge(self, spots: list[tuple], counts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Keys to choose by and scores to go on with: a row a layout, a column a move."""
        raise NotImplementedError

    def _child(self, state: State, spot: tuple, move: int) -> tuple[State, int, int]:
        """The layout after a move, the kind laid and how many of it."""
        raise NotImplementedError

    def _mark(self, state: State) -> object:
        """Equal for layouts that need not both be kept."""
        raise NotImplementedError

    def _top(self, state: State) -> int:
        """The length used, grains."""
        raise NotImplementedError

    def _below(self, state: State) -> float:
        """The area no piece can be laid in any more, laid pieces included."""
        raise NotImplementedError
