"""The chance that a wandering knife and a piece laid askew stay within the room along a cut.

A cut is told by standard normal numbers: two for the lay-down shift, and for each line of a
piece one for every wave of the knife's error that fits into the closed line. Everything is
counted in spreads of knife and lay-down together, so that each place strays by a spread of 1.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy.special import gammainc, ndtr, ndtri

from decaljobs.craft.art.rings import Lengths
from decaljobs.craft.knife.cutruns import CutRun, Piece
from decaljobs.craft.knife.hand import Hand

# (cuts, numbers), (cuts, places) or (numbers, places); seven digits are plenty for a chance
Grid = npt.NDArray[np.float32]
Which = npt.NDArray[np.int64]

# mm along the edge over which a wandering knife forgets where it was: from memory
WANDER = 4.0
# WANDER; what lies farther off does not matter
FORGOTTEN = 6.0
# share of the knife's spread, squared, that the waves left out may have
LEFT_OUT = 1e-5
# cuts that are tried, and the fewest; of large pieces fewer, so that places times cuts stay below
CUTS, FEWEST_CUTS, MOST_TRIED = 4096, 256, 4096 * 300
# chance of failing up to which failures are counted, and not how far cuts may stray
RARE = 0.25
# multiplications at a time; of more, the linear algebra calls up threads, whose waiting for each
# other costs a busy machine more than they save (OpenBLAS, from memory)
ALONE = 200_000
# columns of numbers that are drawn at once
COLUMNS = 64
TINY = 1e-9


@dataclass(frozen=True, eq=False)
class _Line:
    """One ring of a piece: its knife's own numbers, how each number moves it, and its room.

    `moves` are of shape (2 + own numbers, places), the shift's two first; `room` holds the limit
    outwards and that inwards, (2, places).
    """

    own: slice
    moves: Grid
    room: Grid

    def strays(self, numbers: Grid) -> Grid:
        """How far outwards each cut strays at each place, (cuts, places)."""
        drawn = np.hstack([numbers[:, :2], numbers[:, self.own]])
        aside = np.empty((len(drawn), self.moves.shape[1]), np.float32)
        rows = max(1, ALONE // self.moves.size)
        for first in range(0, len(drawn), rows):
            np.matmul(drawn[first : first + rows], self.moves, out=aside[first : first + rows])
        return aside


def chance_within(piece: Piece, hand: Hand, cuts: int = CUTS) -> float:
    """Chance from 0 to 1 that all rings of a piece, laid down together, stay in their room.

    See `clean_chance` of `decaljobs.craft.tolerance` for the formula. Up to `cuts` cuts are
    tried, at least 256.

    >>> from decaljobs.craft.knife.cutruns import cut_run
    >>> turn = np.linspace(0, 2 * np.pi, 100, endpoint=False)
    >>> ring, room = 3 * np.column_stack([np.cos(turn), np.sin(turn)]), np.full(100, 0.5)
    >>> disc = [cut_run(ring, room, room)]
    >>> [round(chance_within(disc, Hand(spread, spread), 256), 1) for spread in (0.05, 0.15, 0.3)]
    [1.0, 0.9, 0.3]
    """
    lines = _lines(piece, hand)
    places = sum(line.room.shape[1] for line in lines)
    cuts = max(FEWEST_CUTS, min(cuts, MOST_TRIED // places))
    count = lines[-1].own.stop
    failing = _failing(lines, cuts, count)
    return 1 - failing if failing <= RARE else _staying(lines, cuts, count)


def _lines(piece: Piece, hand: Hand) -> list[_Line]:
    spread = math.hypot(hand.knife_mm, hand.lay_down_mm)
    lines, first = [], 2
    for ring in piece:
        waves = _waves(ring)
        moves = np.vstack([hand.lay_down_mm * ring.normal.T, hand.knife_mm * waves]) / spread
        room = np.stack([ring.outward, ring.inward]) / spread
        own = slice(first, first + len(waves))
        lines.append(_Line(own, moves.astype(np.float32), room.astype(np.float32)))
        first = own.stop
    return lines


def _waves(ring: CutRun) -> npt.NDArray[np.float64]:
    """The waves that make up the knife's error round a ring, (waves, places), longest first."""
    count, length = len(ring.length), float(ring.length.sum())
    power = np.fft.rfft(_likeness(np.arange(count) * length / count, length)).real / count
    # all waves but the first, of no length, and the shortest are two: a sine and a cosine
    shares = np.maximum(power, 0) * np.where(np.arange(len(power)) % (count / 2) == 0, 1, 2)
    kept = 1 + int(np.argmax(np.cumsum(shares) > 1 - LEFT_OUT))
    turns = 2 * np.pi * np.outer(np.arange(kept), np.arange(count)) / count
    both = np.stack([np.cos(turns), np.sin(turns)], axis=1) * np.sqrt(shares[:kept, None, None])
    return both.reshape(2 * kept, count)[np.arange(2 * kept) != 1]


def _likeness(apart_mm: Lengths, length_mm: float) -> Lengths:
    """Correlation of the knife's error at places so many mm apart on a closed line."""
    most = math.ceil(FORGOTTEN * WANDER / length_mm)
    laps = np.arange(-most, most + 1) * length_mm
    bell = np.exp(-(((apart_mm[:, None] + laps) / WANDER) ** 2) / 2).sum(axis=1)
    return bell / bell[0]


def _failing(lines: Sequence[_Line], cuts: int, count: int) -> float:
    """Chance that some place fails: cuts that surely fail somewhere, by how often they do.

    Each cut is made to fail at a place picked in proportion to the chance that it fails there;
    one that fails at n places could have been picked n times.
    """
    rare = np.concatenate([ndtr(-line.room.astype(float)).ravel() for line in lines])
    total = float(rare.sum())
    if rare.max() > RARE or total < TINY:
        return min(total, 1.0)
    where, depth = _shares(cuts, count)[:, -2:].T
    picked = np.searchsorted(np.cumsum(rare), where * total).clip(0, len(rare) - 1)
    reach = -ndtri(rare[picked] * depth)
    numbers, first = _numbers(cuts, count).copy(), 0
    for line in lines:
        mine = np.flatnonzero((picked >= first) & (picked < first + line.room.size))
        inward, place = np.divmod(picked[mine] - first, line.room.shape[1])
        _stray_there(numbers, line, mine, place, np.where(inward, -1, 1) * reach[mine])
        first += line.room.size
    times = np.zeros(cuts)
    for line in lines:
        aside = line.strays(numbers)
        times += np.count_nonzero((aside > line.room[0]) | (aside < -line.room[1]), axis=1)
    return total * float((1 / np.maximum(times, 1)).mean())


def _stray_there(numbers: Grid, line: _Line, cuts: Which, place: Which, reach: Lengths) -> None:
    """Bend the numbers of some cuts so that each strays by its reach at its place."""
    at = np.ix_(cuts, np.r_[0, 1, line.own])
    bend = line.moves[:, place].T
    lacking = reach - (numbers[at] * bend).sum(axis=1)
    numbers[at] += lacking[:, None] * bend


def _staying(lines: Sequence[_Line], cuts: int, count: int) -> float:
    """Chance that no place fails: that cuts stray neither too far nor too little for any.

    Each direction of the numbers, and its opposite, counts with the chance that their length is
    such that all places keep within their room.
    """
    numbers = _numbers(cuts, count)
    tilt = np.hstack([_tilt(line, numbers) for line in lines])
    ahead = np.concatenate([line.room.ravel() for line in lines]) > 0
    square, chance = (numbers.astype(float) ** 2).sum(axis=1), 0.0
    for way in (tilt, -tilt):
        end = 1 / np.maximum(way[:, ahead].max(axis=1, initial=TINY), TINY)
        # where the room lies all to one side, a cut has to stray to be in it
        behind = way[:, ~ahead].min(axis=1, initial=math.inf)
        begin = np.where(behind > 0, 1 / np.maximum(behind, TINY), math.inf)
        within = [
            gammainc(count / 2, square * limit.astype(float) ** 2 / 2) for limit in (end, begin)
        ]
        chance += float(np.maximum(within[0] - within[1], 0).mean()) / 2
    return chance


def _tilt(line: _Line, numbers: Grid) -> Grid:
    """Share of each limit that each cut uses up, (cuts, 2 × places)."""
    room = np.where(np.abs(line.room) < TINY, np.float32(TINY), line.room)
    aside = line.strays(numbers)
    return np.hstack([aside / room[0], -aside / room[1]])


def _numbers(cuts: int, count: int) -> Grid:
    """Standard normal numbers, (cuts, count), the same ones each time."""
    return _drawn(cuts, math.ceil((count + 2) / COLUMNS) * COLUMNS)[1][:, :count]


def _shares(cuts: int, count: int) -> npt.NDArray[np.float64]:
    """Numbers from 0 to 1, spread alike, at least two columns more than `count`."""
    return _drawn(cuts, math.ceil((count + 2) / COLUMNS) * COLUMNS)[0]


@lru_cache(maxsize=4)
def _drawn(cuts: int, columns: int) -> tuple[npt.NDArray[np.float64], Grid]:
    """Shares, in each column spread evenly and in random order, and their normal quantiles.

    A Latin hypercube (M. D. McKay, R. J. Beckman and W. J. Conover, Technometrics 21, 1979,
    from memory).
    """
    even = np.tile((np.arange(cuts) + 0.5) / cuts, (columns, 1))
    shares = np.random.default_rng(0).permuted(even, axis=1).T
    return shares, ndtri(shares).astype(np.float32)
