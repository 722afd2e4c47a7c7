"""The beam over skylines: a piece goes into the lowest gap, or the gap is given up.

A piece is laid against the gap's left wall. A gap given up is raised to its lower wall and its
film counts as waste; every step of the skyline costs too, since it is a wall that some later
piece must meet.
"""

from __future__ import annotations

import numpy as np

from decaljobs.craft.layout.beam import ENDLESS, Beam, Front, State
from decaljobs.craft.layout.skyline import NOBODY, Skyline, laid
from decaljobs.craft.layout.stock import Stock


class SkylineBeam(Beam):
    """Layouts that need not come apart by straight cuts."""

    @staticmethod
    def empty(stock: Stock) -> Front:
        """Nothing laid yet."""
        line = Skyline([0], [stock.width], [NOBODY])
        state = State(line, 0.0, 0.0, stock.pieces, None)
        return Front([state], np.array([stock.counts], dtype=np.int32))

    def _spot(self, state: State) -> tuple:
        heights, widths, owners = state.shape
        floor = min(heights)
        spot = heights.index(floor)
        width, cost = widths[spot], self.step_cost
        left = right = self.length
        left_width = right_width = left_owner = NOBODY
        score = state.score
        if spot:
            left, left_width, left_owner = heights[spot - 1], widths[spot - 1], owners[spot - 1]
            score -= min((left - floor) * width, cost)
        if spot + 1 < len(heights):
            right, right_width = heights[spot + 1], widths[spot + 1]
            score -= min((right - floor) * width, cost)
        walls = left, right, left_width, right_width
        return floor, width, *walls, score, state.slack, left_owner, owners[spot], spot

    def _judge(self, spots: list[tuple], counts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        table = np.array(spots, dtype=float).T[:, :, None]
        floor, width, left, right, left_width, right_width, score, slack = table[:8]
        across, along, kind_of = self.across, self.along, self.kind_of
        room, tops = width - across, floor + along
        possible = (room >= 0) & (tops <= self.length) & (counts[:, kind_of] > 0)
        room = np.where(possible, room, 0.0)
        scores = score + self.liking + self._steps(tops - left, left_width, across)
        beside = np.minimum(along * room, self.step_cost)
        beside += np.where(
            right_width >= 0, np.minimum((right - floor) * room, self.step_cost), 0.0
        )
        scores += np.where(room > 0, beside, self._steps(tops - right, right_width, across))
        if self.near:
            scores -= self.near * (table[8] == kind_of)
            scores -= self.near * (table[9] == kind_of)
        depth = np.minimum(left, right) - floor
        sliver = self._lost(room) * np.minimum(depth, along)
        keys = scores + self.manner.sliver * sliver
        if self.length < ENDLESS:
            above = self._lost(np.where(possible, self.length - tops, 0.0)) * across
            possible &= sliver + above <= slack
            keys += self.manner.top * above
        raised = self._raise(table, depth)
        keys = np.concatenate([np.where(possible, keys, np.inf), raised], axis=1)
        return keys, np.concatenate([scores, raised], axis=1)

    def _steps(self, rise: np.ndarray, wall: np.ndarray, across: np.ndarray) -> np.ndarray:
        """Cost of a top that lies `rise` above a wall `wall` wide (below 0: no wall)."""
        lower = np.where(rise > 0, rise * wall, -rise * across)
        return np.where(wall >= 0, np.minimum(lower, self.step_cost), 0.0)

    def _raise(self, table: np.ndarray, depth: np.ndarray) -> np.ndarray:
        _, width, left, right, left_width, right_width, score, slack = table[:8]
        waste = width * depth
        between = (left != right) & (left_width >= 0) & (right_width >= 0)
        raised = score + waste + np.where(between, self.step_cost, 0.0)
        return np.where((waste <= slack) & (depth > 0), raised, np.inf)

    def _child(self, state: State, spot: tuple, move: int) -> tuple[State, int, int]:
        floor, width, left, right, *_, place = spot
        line, _, slack, count, trail = state
        if move == len(self.ways):
            top = min(left, right)
            owner = self._wall_owner(line, place, top)
            raised = laid(line, place, width, top, owner)
            waste = width * (top - floor)
            return State(raised, 0.0, slack - waste, count, trail), 0, 0
        across, along, kind, way = self.ways[move]
        trail = (trail, way, sum(line.widths[:place]), floor)
        line = laid(line, place, across, floor + along, kind)
        return State(line, 0.0, slack, count - 1, trail), kind, 1

    def _wall_owner(self, line: Skyline, place: int, top: int) -> int:
        """Who owns a gap raised to `top`: the wall it joins, the left one first."""
        if place and line.heights[place - 1] == top:
            return line.owners[place - 1]
        joins_right = place + 1 < len(line.heights) and line.heights[place + 1] == top
        return line.owners[place + 1] if joins_right else NOBODY

    def _mark(self, state: State) -> object:
        return tuple(state.shape.heights), tuple(state.shape.widths), state.left

    def _top(self, state: State) -> int:
        return max(state.shape.heights)

    def _below(self, state: State) -> float:
        line = state.shape
        return sum(h * w for h, w in zip(line.heights, line.widths, strict=True))
