"""Beam search for one filled rectangle: many half-finished layouts side by side, the best go on.

A layout grows in the lowest gap of its skyline: a piece is laid against the gap's left wall, or
the gap is given up and raised to its lower wall. Film given up counts, and so does every step of
the skyline, since a step is a wall that some later piece must meet.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from decaljobs.craft.firstlayout import Fill
from decaljobs.craft.layoutstock import Stock
from decaljobs.craft.skyline import laid

#: Stands for 'no end' of an endless strip, grains.
ENDLESS = 10**10
RAISED = -1


@dataclass(frozen=True)
class Manner:
    """How a beam judges; costs are shares of the mean piece's area.

    breadth: layouts kept; step: cost of a step in the skyline; pull: how much large pieces are
    wanted first; noise: spread of a random liking per piece and turn; sliver, top: weight of
    film that will stay empty beside and above; refresh: pieces between two looks at what is left.
    """

    breadth: int = 50
    step: float = 0.06
    pull: float = 0.03
    noise: float = 0.01
    sliver: float = 0.7
    top: float = 0.3
    refresh: int = 8


class State(NamedTuple):
    """A half-finished layout; `trail` is (earlier trail, way, x, y) back to the start."""

    heights: list[int]
    widths: list[int]
    score: float
    slack: float
    left: int
    trail: tuple | None


class Front(NamedTuple):
    """Layouts of one depth with the pieces each has left (one row a layout)."""

    states: list[State]
    counts: np.ndarray


def empty_front(stock: Stock) -> Front:
    """Nothing laid yet."""
    state = State([0], [stock.width], 0.0, 0.0, stock.pieces, None)
    return Front([state], np.array([stock.counts], dtype=np.int32))


def as_fill(stock: Stock, front: Front, row: int) -> Fill:
    """One layout of a front with its pieces in the order they were laid."""
    state, trail = front.states[row], front.states[row].trail
    backwards = []
    while trail is not None:
        trail, *piece = trail
        backwards.append(tuple(piece))
    return Fill(
        tuple(reversed(backwards)),
        tuple(front.counts[row].tolist()),
        tuple(state.heights),
        tuple(state.widths),
    )


class Beam:
    """Fills a rectangle of the stock's width and `length` grains, or ENDLESS."""

    def __init__(
        self,
        stock: Stock,
        length: int,
        manner: Manner,
        random: np.random.Generator,
    ) -> None:
        self.stock, self.length, self.manner = stock, length, manner
        mean = stock.mean_area
        self.step_cost = manner.step * mean
        liking = manner.noise * mean * random.random(len(stock.ways))
        self.liking = liking - manner.pull * stock.way_area
        self.longest = min(length, 2 * stock.width)
        self.losses = np.zeros(0)

    def finish(self, front: Front, over: Callable[[], bool]) -> Fill | None:
        """All pieces laid, as short as this beam can; None where it cannot or time is over."""
        for later in self._onward(self._start(front, spare=False), over):
            done = [row for row, state in enumerate(later.states) if not state.left]
            if done:
                best = min(done, key=lambda row: max(later.states[row].heights))
                return as_fill(self.stock, later, best)
        return None

    def grow(self, front: Front, enough: int, over: Callable[[], bool]) -> Front | None:
        """The front once its best layout has at most `enough` pieces left."""
        for later in self._onward(self._start(front, spare=True), over):
            if later.states[0].left <= enough:
                return later
        return None

    def fill(self, front: Front, over: Callable[[], bool]) -> Fill | None:
        """The fullest rectangle met, pieces may be left over; None where time is over before."""
        fullest, least = None, float("inf")
        areas = np.array(self.stock.areas, dtype=float)
        for later in self._onward(self._start(front, spare=True), over):
            for row, state in enumerate(later.states):
                if state.left and min(state.heights) < self.length:
                    continue
                unused = float(later.counts[row] @ areas)
                if unused < least:
                    fullest, least = as_fill(self.stock, later, row), unused
        return fullest

    def _onward(self, front: Front, over: Callable[[], bool]) -> Iterator[Front]:
        """The fronts that follow, layouts that are full left out."""
        depth = 0
        while front.states and not over():
            if depth % self.manner.refresh == 0:
                self._look(front)
            depth += 1
            front = self._advance(front)
            if front.states:
                yield front
            front = self._unfinished(front)

    def _unfinished(self, front: Front) -> Front:
        rows = [
            row
            for row, state in enumerate(front.states)
            if state.left and min(state.heights) < self.length
        ]
        if len(rows) == len(front.states):
            return front
        return Front([front.states[row] for row in rows], front.counts[rows])

    def _start(self, front: Front, spare: bool) -> Front:
        """The front with the film each layout may waste; without limit if pieces may be left."""
        states = []
        for state, counts in zip(front.states, front.counts, strict=True):
            below = sum(h * w for h, w in zip(state.heights, state.widths, strict=True))
            rest = float(counts @ np.array(self.stock.areas, dtype=float))
            free = float(self.length) * self.stock.width - below
            states.append(state._replace(slack=free if spare else free - rest))
        return Front(states, front.counts)

    def _look(self, front: Front) -> None:
        """See what widths the pieces left can still fill."""
        self.losses = self.stock.losses(front.counts.max(axis=0).tolist(), self.longest)

    def _advance(self, front: Front) -> Front:
        """Every layout one piece, or one gap given up, further."""
        gaps = [self._gap(state) for state in front.states]
        keys, scores = self._judge(gaps, front.counts)
        return self._children(front, gaps, keys, scores)

    def _gap(self, state: State) -> tuple[float, ...]:
        heights, widths = state.heights, state.widths
        floor = min(heights)
        spot = heights.index(floor)
        width = widths[spot]
        left = right = self.length
        left_width = right_width = -1
        steps = 0.0
        if spot:
            left, left_width = heights[spot - 1], widths[spot - 1]
            steps = min((left - floor) * width, self.step_cost)
        if spot + 1 < len(heights):
            right, right_width = heights[spot + 1], widths[spot + 1]
            steps += min((right - floor) * width, self.step_cost)
        score = state.score - steps
        return floor, width, left, right, left_width, right_width, score, state.slack, spot

    def _judge(self, gaps: list, counts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Keys to choose by and scores to go on with: a column a way, the last for raising."""
        stock, cost = self.stock, self.step_cost
        table = np.array(gaps, dtype=float).T[:, :, None]
        floor, width, left, right, left_width, right_width, score, slack, _ = table
        across, along = stock.across, stock.along
        room = width - across
        tops = floor + along
        possible = (room >= 0) & (tops <= self.length) & (counts[:, stock.kind_of] > 0)
        room = np.where(possible, room, 0.0)
        steps = self._steps(tops - left, left_width, across)
        beside = np.minimum(along * room, cost)
        beside += np.where(right_width >= 0, np.minimum((right - floor) * room, cost), 0.0)
        steps += np.where(room > 0, beside, self._steps(tops - right, right_width, across))
        scores = score + steps + self.liking
        depth = np.minimum(left, right) - floor
        sliver = self._lost(room) * np.minimum(depth, along)
        above = self._lost(np.where(possible, self.length - tops, 0.0)) * across
        possible &= sliver + above <= slack
        keys = scores + self.manner.sliver * sliver + self.manner.top * above
        keys = np.where(possible, keys, np.inf)
        raised = self._raise(table, depth)
        return np.concatenate([keys, raised], axis=1), np.concatenate([scores, raised], axis=1)

    def _steps(self, rise: np.ndarray, wall: np.ndarray, across: np.ndarray) -> np.ndarray:
        """Cost of a piece's top lying `rise` above a wall `wall` wide (below 0: no wall)."""
        lower = np.where(rise > 0, rise * wall, -rise * across)
        return np.where(wall >= 0, np.minimum(lower, self.step_cost), 0.0)

    def _lost(self, stretch: np.ndarray) -> np.ndarray:
        at = (stretch // self.stock.step).astype(np.int64)
        return self.losses[np.minimum(at, len(self.losses) - 1)]

    def _raise(self, table: np.ndarray, depth: np.ndarray) -> np.ndarray:
        _, width, left, right, left_width, right_width, score, slack, _ = table
        waste = width * depth
        between = (left != right) & (left_width >= 0) & (right_width >= 0)
        raised = score + waste + np.where(between, self.step_cost, 0.0)
        return np.where(waste <= slack, raised, np.inf)

    def _children(self, front: Front, gaps: list, keys: np.ndarray, scores: np.ndarray) -> Front:
        columns = keys.shape[1]
        flat = keys.ravel()
        most = min(flat.size, 3 * self.manner.breadth)
        chosen = np.argpartition(flat, most - 1)[:most] if most < flat.size else np.arange(most)
        chosen = chosen[np.lexsort((chosen, flat[chosen]))]
        chosen = chosen[np.isfinite(flat[chosen])]
        parents, ways = np.divmod(chosen, columns)
        states: list[State] = []
        rows: list[int] = []
        kinds: list[int] = []
        seen = set()
        for parent, way, score in zip(
            parents.tolist(), ways.tolist(), scores.ravel()[chosen].tolist(), strict=True
        ):
            child = self._child(front.states[parent], gaps[parent], way, score)
            mark = (tuple(child.heights), tuple(child.widths), child.left)
            if mark in seen:
                continue
            seen.add(mark)
            states.append(child)
            rows.append(parent)
            kinds.append(self.stock.ways[way][2] if way < columns - 1 else RAISED)
            if len(states) == self.manner.breadth:
                break
        counts = front.counts[rows]
        if rows:
            used = np.array(kinds)
            laid_rows = np.flatnonzero(used >= 0)
            counts[laid_rows, used[laid_rows]] -= 1
        return Front(states, counts)

    def _child(self, state: State, gap: tuple, way: int, score: float) -> State:
        floor, width, left, right, _, _, _, slack, spot = gap
        if way == len(self.stock.ways):
            top = min(left, right)
            heights, widths = laid(state.heights, state.widths, spot, width, top)
            waste = width * (top - floor)
            return State(heights, widths, score, slack - waste, state.left, state.trail)
        across, along, _ = self.stock.ways[way]
        heights, widths = laid(state.heights, state.widths, spot, across, floor + along)
        trail = (state.trail, way, sum(state.widths[:spot]), floor)
        return State(heights, widths, score, slack, state.left - 1, trail)
