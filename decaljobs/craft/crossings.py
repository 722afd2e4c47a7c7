"""How often a wandering knife crosses a limit that moves along its line, and the chance of never.

Everything here is counted in spreads of the knife, so that its error has the spread 1.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from decaljobs.craft.cutruns import CutRun
from decaljobs.craft.outlines import Lengths

# (places along the line, lay-down shifts)
Grid = npt.NDArray[np.float64]

# mm along the edge over which a wandering knife forgets where it was: from memory
WANDER = 4.0
# mm back along the line to the places that are looked at for what they tell of a crossing
LOOKING_BACK = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 6.0)
# a line shorter than this many WANDER is looked at across as well
SHORT_LINE = 8.0
# WANDER; what lies farther off does not matter
FORGOTTEN = 6.0
ROOT_TWO_PI = float(np.sqrt(2 * np.pi))
LEAST = 1e-9


@dataclass(frozen=True)
class Wander:
    """The knife's error along a closed line of a length in mm, which ends where it began."""

    length_mm: float

    def likeness(self, apart_mm: npt.ArrayLike) -> tuple[Lengths, Lengths]:
        """Correlation of the error here with that so many mm back, and of its slope here."""
        laps = self._laps()
        away = (np.asarray(apart_mm, float)[..., None] + laps) / WANDER
        bell = np.exp(-(away**2) / 2)
        whole = np.exp(-((laps / WANDER) ** 2) / 2).sum()
        return bell.sum(-1) / whole, (away * bell).sum(-1) / whole / (self.slope * WANDER)

    @property
    def slope(self) -> float:
        """Spread of the error's slope per mm."""
        away = (self._laps() / WANDER) ** 2
        bell = np.exp(-away / 2)
        return math.sqrt(max(float(((1 - away) * bell).sum() / bell.sum()), LEAST)) / WANDER

    def _laps(self) -> Lengths:
        most = math.ceil(FORGOTTEN * WANDER / self.length_mm)
        return np.arange(-most, most + 1, dtype=np.float64) * self.length_mm


def chance_within(run: CutRun, shifts: npt.NDArray[np.float64], knife_mm: float) -> Lengths:
    """Chance that the knife stays in a run's room all the way round, for each shift (2, n) in mm.

    See `clean_chance` of `decaljobs.craft.tolerance` for the formula.
    """
    aside = run.normal @ shifts
    room = _room(
        (run.outward[:, None] - aside) / knife_mm, (run.inward[:, None] + aside) / knife_mm
    )
    wander = Wander(float(run.length.sum()))
    out, in_ = _crossing(room.outward, wander), _crossing(room.inward, wander)
    out_share, in_share = _clean_until_then(room, out, in_, wander)
    leaving = (out.rate * out_share + in_.rate * in_share) / room.chance
    return room.chance.max(axis=0) * np.exp(-(run.length @ leaving))


@dataclass(frozen=True, eq=False)
class _Room:
    """Both limits, the chance of being between them, and the error's mean and variance if so."""

    outward: Grid
    inward: Grid
    chance: Grid
    mean: Grid
    variance: Grid


def _room(outward: Grid, inward: Grid) -> _Room:
    chance = np.clip(ndtr(outward) + ndtr(inward) - 1, LEAST, 1)
    out, in_ = _bell(outward), _bell(inward)
    mean = (in_ - out) / chance
    variance = np.clip(1 - (outward * out + inward * in_) / chance - mean**2, 0.001, 1)
    return _Room(outward, inward, chance, mean, variance)


@dataclass(frozen=True, eq=False)
class _Crossing:
    """Crossings out over one limit per mm, and mean and variance of the error's slope at them."""

    limit: Grid
    rate: Grid
    slope: Grid
    variance: Grid


def _crossing(limit: Grid, wander: Wander) -> _Crossing:
    """Rice's rate for a limit that moves: only an error steeper than the limit crosses it."""
    step = wander.length_mm / len(limit)
    least = (np.roll(limit, -1, axis=0) - np.roll(limit, 1, axis=0)) / (2 * step * wander.slope)
    steeper, bell = ndtr(-least), _bell(least)
    excess = np.maximum(bell - least * steeper, LEAST)
    slope = steeper / excess
    variance = np.clip((2 * bell - least * steeper) / excess - slope**2, 0, 1)
    return _Crossing(limit, _bell(limit) * excess * wander.slope, slope, variance)


def _clean_until_then(
    room: _Room, out: _Crossing, in_: _Crossing, wander: Wander
) -> tuple[Grid, Grid]:
    """Share of the crossings of each limit that come from a line clean until then.

    Of the places passed already, the one that tells most against a crossing counts, and the
    one that tells most for it: across a small piece, where a shift takes room on both sides.
    """
    step = wander.length_mm / len(room.chance)
    start = room.chance.argmax(axis=0)
    passed = (np.arange(len(room.chance))[:, None] - start) % len(room.chance)
    fewer, more = np.ones((2, *passed.shape)), np.ones((2, *passed.shape))
    for back in _looked_at(step, wander.length_mm):
        there = np.roll(room.outward, back, axis=0), np.roll(room.inward, back, axis=0)
        told = _told(room, out, in_, there, wander.likeness(back * step))
        told = np.where(passed >= back, told, 1)
        fewer, more = np.minimum(fewer, told), np.maximum(more, told)
    # the line ends where it began, so its beginning lies just ahead of its end
    alike, with_slope = wander.likeness(np.arange(len(passed)) * step)
    shifts = np.arange(passed.shape[1])
    there = room.outward[start, shifts], room.inward[start, shifts]
    told = _told(room, out, in_, there, (alike[passed], with_slope[passed]))
    told = np.where(passed > 0, told, 1)
    out_share, in_share = np.minimum(fewer, told) * np.maximum(more, told)
    return out_share, in_share


def _looked_at(step: float, length: float) -> list[int]:
    """How many places back to look."""
    across = [length / 2] if length < SHORT_LINE * WANDER else []
    looks = {round(back / step) for back in (*LOOKING_BACK, *across) if back <= length / 2}
    return sorted(looks - {0})


def _told(
    room: _Room,
    out: _Crossing,
    in_: _Crossing,
    there: tuple[Grid, Grid],
    likeness: tuple[Grid, Grid],
) -> Grid:
    """How much likelier a place passed was clean if a limit is crossed here than if none is.

    For both limits (2, places, shifts); errors here and there are taken for jointly normal.
    """
    outward, inward = there
    alike, with_slope = likeness
    spread = np.sqrt(np.maximum(1 - alike**2 * (1 - room.variance), LEAST))
    if_clean = _between(outward, inward, alike * room.mean, spread)
    told = []
    for crossing, way in ((out, 1), (in_, -1)):
        mean = way * (alike * crossing.limit - with_slope * crossing.slope)
        rest = 1 - alike**2 - with_slope**2 * (1 - crossing.variance)
        told.append(_between(outward, inward, mean, np.sqrt(np.maximum(rest, 1e-4))))
    return np.stack(told) / np.maximum(if_clean, 1e-6)


def _between(outward: Grid, inward: Grid, mean: Grid, spread: Grid) -> Grid:
    return np.maximum(_normal((outward - mean) / spread) + _normal((inward + mean) / spread) - 1, 0)


def _bell(x: Grid) -> Grid:
    return np.exp(-x * x / 2) / ROOT_TWO_PI


def _normal(x: Grid) -> Grid:
    """The normal distribution to 0.0002, in a fiftieth of the time (E. Page, Applied Statistics
    26, 1977, from memory)."""
    return 0.5 + 0.5 * np.tanh(math.sqrt(2 / math.pi) * x * (1 + 0.044715 * x * x))
