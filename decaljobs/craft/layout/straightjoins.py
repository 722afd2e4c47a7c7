"""Small films filled by joining: blocks of pieces are put beside and above each other. Grains.

Every block comes apart by straight cuts. Of all blocks those are joined on that waste least, what
cannot be filled beside and above them on the film counted in. Where some two dozen pieces fill the
film this finds fuller layouts than a beam does; the more there are the worse it gets. The idea is
that of P. Y. Wang, Two Algorithms for Constrained Two-Dimensional Cutting Stock Problems,
Operations Research 31, 1983 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from decaljobs.craft.layout.firstlayout import Fill, Laid
from decaljobs.craft.layout.stock import Stock

#: Rounds of joining; after each a block may hold twice as many pieces.
ROUNDS = 8
#: A block may waste this share of itself, if it is not the fullest so far (tried out).
WASTE = 0.05
#: Blocks are chosen for each size alike, halved so often from the whole film on (tried out).
SIZES = 7
#: How a block came about: a piece, two beside each other, or two above each other.
PIECE, BESIDE, ABOVE = -1, 0, 1


@dataclass(frozen=True)
class JoinManner:
    """How many blocks are joined on, how many new ones of a round; noise: spread of liking."""

    kept: int = 1200
    fresh: int = 600
    noise: float = 0.0


class Blocks(NamedTuple):
    """Blocks, a row each: sides, area of its pieces, pieces of each kind, and what it is made of.

    first, second: the numbers of the blocks it was joined from; of a piece its way and -1.
    """

    across: np.ndarray
    along: np.ndarray
    area: np.ndarray
    counts: np.ndarray
    how: np.ndarray
    first: np.ndarray
    second: np.ndarray

    def of(self, rows: np.ndarray) -> Blocks:
        """Some of them, in that order."""
        return Blocks(*(column[rows] for column in self))

    def and_(self, *others: Blocks) -> Blocks:
        """These, then the others."""
        return Blocks(*(np.concatenate(columns) for columns in zip(self, *others, strict=True)))


class Joins:
    """Fills the stock's width and `length` grains, with pieces left over."""

    def __init__(
        self, stock: Stock, length: int, manner: JoinManner, random: np.random.Generator
    ) -> None:
        self.stock, self.length, self.manner, self.random = stock, length, manner, random
        self.have = np.array(stock.counts, dtype=np.int16)
        self.losses = stock.losses(stock.counts, max(stock.width, length)).astype(np.int64)
        self.room = stock.width * length
        self.marks = random.integers(1, 2**40, len(stock.counts))
        self.blocks = self._pieces()
        self.pieces = len(self.blocks.area)

    def fill(self, over: Callable[[], bool]) -> Fill | None:
        """The fullest block that was met; None where no piece fits."""
        if not self.pieces:
            return None
        pool = new = np.arange(self.pieces)
        for _ in range(ROUNDS):
            made = None if over() else self._joined(new, pool)
            if made is None:
                break
            before = len(self.blocks.area)
            self.blocks = self.blocks.and_(made.of(self._chosen(made)))
            added = np.arange(before, len(self.blocks.area))
            pool = self._kept(np.concatenate([pool, added]))
            new = np.intersect1d(added, pool)
            if not len(new):
                break
        return self._fill_of(int(self.blocks.area.argmax()))

    def _pieces(self) -> Blocks:
        stock = self.stock
        fits = (stock.across <= stock.width) & (stock.along <= self.length)
        ways = np.flatnonzero(fits)
        across, along = (side[ways].astype(np.int32) for side in (stock.across, stock.along))
        counts = np.zeros((len(ways), len(stock.counts)), dtype=np.int16)
        counts[np.arange(len(ways)), stock.kind_of[ways]] = 1
        none = np.full(len(ways), -1)
        area = stock.way_area[ways].astype(np.int64)
        return Blocks(across, along, area, counts, none, ways, none)

    def _joined(self, new: np.ndarray, pool: np.ndarray) -> Blocks | None:
        """Every new block joined with every one of the pool, both ways, each result once."""
        both = [self._joins(how, new, pool) for how in (BESIDE, ABOVE)]
        made = both[0].and_(both[1])
        keys, rows = np.unique(self._keys(made), return_index=True)
        rows = rows[~np.isin(keys, self._keys(self.blocks))]
        return made.of(rows) if len(rows) else None

    def _joins(self, how: int, new: np.ndarray, pool: np.ndarray) -> Blocks:
        blocks = self.blocks
        pairs = [(side[new][:, None], side[pool][None, :]) for side in blocks[:2]]
        added, other = (0, 1) if how == BESIDE else (1, 0)
        sides = [np.array([]), np.array([])]
        sides[added], sides[other] = np.add(*pairs[added]), np.maximum(*pairs[other])
        at, to = np.nonzero((sides[0] <= self.stock.width) & (sides[1] <= self.length))
        across, along = (side[at, to].astype(np.int64) for side in sides)
        first, second = new[at], pool[to]
        area, whole = blocks.area[first] + blocks.area[second], across * along
        sparing = (whole - area <= WASTE * whole) | (area > blocks.area.max())
        rows = np.flatnonzero(sparing)
        counts = blocks.counts[first[rows]] + blocks.counts[second[rows]]
        there = (counts <= self.have).all(axis=1)
        rows, counts = rows[there], counts[there]
        made = across[rows].astype(np.int32), along[rows].astype(np.int32), area[rows], counts
        return Blocks(*made, np.full(len(rows), how), first[rows], second[rows])

    def _keys(self, blocks: Blocks) -> np.ndarray:
        """The same for blocks of equal sides and pieces."""
        marks = blocks.counts.astype(np.int64) @ self.marks
        return (marks * 1_000_003 + blocks.across) * 1_000_003 + blocks.along

    def _empty(self, blocks: Blocks) -> np.ndarray:
        """What stays empty in each block, and beside and above it, at best."""
        beside = self.stock.width - blocks.across
        above = self.length - blocks.along
        across, along = self._lost(beside) + blocks.across, self._lost(above) + blocks.along
        return across * along - blocks.area

    def _lost(self, stretch: np.ndarray) -> np.ndarray:
        return self.losses[np.minimum(stretch // self.stock.step, len(self.losses) - 1)]

    def _chosen(self, made: Blocks) -> np.ndarray:
        """The new blocks to go on with: of every size those that waste least; and the fullest."""
        fullest = int(made.area.argmax())
        best = max(int(made.area[fullest]), int(self.blocks.area.max()))
        empty = self._empty(made)
        worth = empty / made.area + self.manner.noise * self.random.random(len(empty))
        hopeful = np.flatnonzero(empty <= self.room - best)
        size = np.minimum(np.log2(self.room / made.area[hopeful]).astype(int), SIZES - 1)
        chosen = [np.array([fullest])]
        for number in range(SIZES):
            chosen.append(_least(worth, hopeful[size == number], self.manner.fresh // 3))
        return np.unique(np.concatenate(chosen))

    def _kept(self, pool: np.ndarray) -> np.ndarray:
        """The blocks that are joined on: all pieces, and those that waste least."""
        blocks = self.blocks.of(pool)
        empty = self._empty(blocks)
        worth = np.where(pool < self.pieces, -1.0, empty / blocks.area)
        best = int(self.blocks.area.max())
        rows = np.flatnonzero((empty <= self.room - best) | (pool < self.pieces))
        return pool[np.sort(_least(worth, rows, self.manner.kept))]

    def _fill_of(self, number: int) -> Fill:
        blocks = self.blocks
        laid: list[Laid] = []
        waiting = [(number, 0, 0)]
        while waiting:
            at, x, y = waiting.pop()
            first, second = int(blocks.first[at]), int(blocks.second[at])
            if blocks.how[at] == PIECE:
                laid.append((first, x, y))
                continue
            aside = blocks.how[at] == BESIDE
            right = x + int(blocks.across[first]) if aside else x
            over = y if aside else y + int(blocks.along[first])
            waiting += [(second, right, over), (first, x, y)]
        left = (self.have - blocks.counts[number]).tolist()
        return Fill(tuple(laid), tuple(left), int(blocks.along[number]))


def _least(worth: np.ndarray, rows: np.ndarray, most: int) -> np.ndarray:
    """At most so many of the rows, those of the least worth."""
    if len(rows) <= most:
        return rows
    return rows[np.argpartition(worth[rows], most - 1)[:most]]
