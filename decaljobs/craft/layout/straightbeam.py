"""The beam over straight cuts: every piece can be freed by ruler cuts from edge to edge.

Film is cut into bands across its whole width. A band is cut into regions, again and again from
edge to edge: a piece goes into a region's lower left corner, and what is left right of it and
above it becomes two regions, with the first cut along the piece's right edge or along its top.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from decaljobs.craft.layout.beam import Beam, Front, State
from decaljobs.craft.layout.skyline import NOBODY
from decaljobs.craft.layout.stock import Stock

#: Equal pieces one above another with which a band may be begun (tried out).
COLUMN = 4
#: Such a column is at most this share of the film's width tall (tried out).
TALLEST = 0.5

#: x, y, width, height in grains, and the kind of the piece it was cut from.
Region = tuple[int, int, int, int, int]


class Cuts(NamedTuple):
    """Regions still free, the next one last, and the length, grains, cut into bands so far."""

    regions: tuple[Region, ...]
    top: int


class StraightBeam(Beam):
    """Layouts that come apart by straight cuts.

    Moves are numbered: ways with the first cut upright, ways with it level, giving the region
    up; then bands begun with 1, 2, … equal pieces in a column.
    """

    @staticmethod
    def empty(stock: Stock) -> Front:
        """Nothing laid yet."""
        state = State(Cuts((), 0), 0.0, 0.0, stock.pieces, None)
        return Front([state], np.array([stock.counts], dtype=np.int32))

    def _spot(self, state: State) -> tuple:
        regions, top = state.shape
        if not regions:
            return 0, top, self.stock.width, 0, NOBODY, state.score, state.slack
        region = regions[-1]
        score = state.score - min(region[2] * region[3], self.step_cost)
        return *region, score, state.slack

    def _judge(self, spots: list[tuple], counts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        table = np.array(spots, dtype=float).T[:, :, None]
        have = counts[:, self.kind_of]
        inside = self._judge_regions(table, have)
        begun = self._judge_bands(table, have)
        keys = np.concatenate([inside[0], begun[0]], axis=1)
        return keys, np.concatenate([inside[1], begun[1]], axis=1)

    def _judge_regions(self, table: np.ndarray, have: np.ndarray) -> tuple:
        """Both first cuts for every way, and giving the region up."""
        _, _, width, height, owner, score, slack = table
        across, along = self.across, self.along
        beside, above = width - across, height - along
        possible = (beside >= 0) & (above >= 0) & (have > 0)
        beside, above = np.where(possible, beside, 0.0), np.where(possible, above, 0.0)
        lost_beside, lost_above = self._lost(beside), self._lost(above)
        scores = score + self.liking - self.near * (owner == self.kind_of)
        upright = scores + self._open(beside * height) + self._open(across * above)
        level = scores + self._open(beside * along) + self._open(width * above)
        waste_upright = lost_beside * height + lost_above * across
        waste_level = lost_beside * along + lost_above * width
        scores = np.concatenate([upright, level], axis=1)
        waste = np.concatenate([waste_upright, waste_level], axis=1)
        twice = np.concatenate([possible, possible & (beside > 0) & (above > 0)], axis=1)
        keys = np.where(twice & (waste <= slack), scores + self.manner.sliver * waste, np.inf)
        given_up = np.where(
            (height > 0) & (width * height <= slack), score + width * height, np.inf
        )
        keys = np.concatenate([keys, given_up], axis=1)
        return keys, np.concatenate([scores, given_up], axis=1)

    def _judge_bands(self, table: np.ndarray, have: np.ndarray) -> tuple:
        """Bands begun with a column of equal pieces, where no region is free."""
        _, top, width, height, _, score, slack = table
        begun = []
        for copies in range(1, COLUMN + 1):
            tall = copies * self.along
            room = width - self.across
            possible = (height == 0) & (room >= 0) & (have >= copies) & (top + tall <= self.length)
            if copies > 1:
                possible &= tall <= TALLEST * self.stock.width
            room = np.where(possible, room, 0.0)
            waste = self._lost(room) * tall
            scores = score + copies * self.liking + self._open(room * tall)
            keys = scores + self.manner.sliver * waste
            begun.append((np.where(possible & (waste <= slack), keys, np.inf), scores))
        keys, scores = zip(*begun, strict=True)
        return np.concatenate(keys, axis=1), np.concatenate(scores, axis=1)

    def _open(self, area: np.ndarray) -> np.ndarray:
        """Cost of a region still to be filled."""
        return np.minimum(area, self.step_cost)

    def _child(self, state: State, spot: tuple, move: int) -> tuple[State, int, int]:
        ways = len(self.ways)
        if move > 2 * ways:
            return self._begin_band(state, *divmod(move - 2 * ways - 1, ways))
        regions, top = state.shape
        x, y, width, height, *_ = regions[-1]
        if move == 2 * ways:
            slack = state.slack - width * height
            return state._replace(shape=Cuts(regions[:-1], top), slack=slack), 0, 0
        across, along, kind, way = self.ways[move % ways]
        beside, above = width - across, height - along
        if move < ways:
            right = (x + across, y, beside, height, kind)
            over = (x, y + along, across, above, kind)
        else:
            right = (x + across, y, beside, along, kind)
            over = (x, y + along, width, above, kind)
        kept, waste = self._kept(right, over)
        trail = (state.trail, way, x, y)
        shape = Cuts(regions[:-1] + kept, top)
        return State(shape, 0.0, state.slack - waste, state.left - 1, trail), kind, 1

    def _begin_band(self, state: State, more: int, move: int) -> tuple[State, int, int]:
        across, along, kind, way = self.ways[move]
        top, trail = state.shape.top, state.trail
        for _ in range(more + 1):
            trail = (trail, way, 0, top)
            top += along
        tall = top - state.shape.top
        right = (across, state.shape.top, self.stock.width - across, tall, kind)
        kept, waste = self._kept(right)
        left = state.left - more - 1
        return State(Cuts(kept, top), 0.0, state.slack - waste, left, trail), kind, more + 1

    def _kept(self, *regions: Region) -> tuple[tuple[Region, ...], int]:
        """Regions something may fit into, the smallest last, and the area of the others."""
        narrowest = self.stock.narrowest
        kept = [region for region in regions if min(region[2], region[3]) >= narrowest]
        waste = sum(region[2] * region[3] for region in regions if region not in kept)
        return tuple(sorted(kept, key=lambda region: -region[2] * region[3])), waste

    def _mark(self, state: State) -> object:
        return state.shape, state.left

    def _top(self, state: State) -> int:
        return state.shape.top

    def _below(self, state: State) -> float:
        regions, top = state.shape
        return top * self.stock.width - sum(width * height for _, _, width, height, _ in regions)
