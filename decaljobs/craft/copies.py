"""How many copies to print so that enough of them come out good."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, log1p

import numpy as np
from scipy.special import bdtrc, betaln

#: Chance wanted that enough copies come out good (common practice, no source).
SURENESS = 0.95
#: More copies than this of one decal are not proposed (a limit against slips, no source).
MOST_COPIES = 2_000
#: A chance this little short of the one wanted counts as reached: 0.95 is no exact binary number.
ROUNDING = 1e-9


@dataclass(frozen=True)
class Success:
    """What is known of a step's success per piece: a Beta(good, spoiled) distribution.

    The two numbers act like pieces already seen, so a maker's record is simply added. Raises
    ValueError unless both are above 0.
    """

    good: float
    spoiled: float

    def __post_init__(self) -> None:
        if not all(isfinite(count) and count > 0 for count in (self.good, self.spoiled)):
            raise ValueError(
                f"Beta({self.good}, {self.spoiled}) is no distribution: both numbers must be "
                "above 0."
            )

    @property
    def mean(self) -> float:
        """Expected share of good pieces, 0 to 1.

        >>> Success(8, 2).mean
        0.8
        """
        return self.good / (self.good + self.spoiled)

    def with_record(self, good: int, spoiled: int) -> Success:
        """What is known after the maker's own good and spoiled pieces, each 0 or more.

        >>> Success(8, 2).with_record(good=18, spoiled=2)
        Success(good=26, spoiled=4)
        """
        if good < 0 or spoiled < 0:
            raise ValueError(f"A record of {good} good and {spoiled} spoiled is below 0.")
        return Success(self.good + good, self.spoiled + spoiled)


#: Starting values per piece before there is a record (from memory, no source).
WHOLE_CHAIN = Success(8, 2)
SEALING = Success(18, 2)
CUTTING_AND_LAYING = Success(17, 3)

Chance = Success | float


@dataclass(frozen=True)
class Copies:
    """Copies proposed, with the numbers behind them.

    chance: that at least the wanted good ones are among them, one_fewer: among one copy fewer,
    mean: that one comes out good, sureness: what chance was asked for; all 0 to 1.
    """

    copies: int
    wanted: int
    chance: float
    one_fewer: float
    mean: float
    sureness: float

    @property
    def reason(self) -> str:
        """Why so many, in one sentence.

        >>> copies_to_print(4, 0.8).reason
        '4 wanted, 8 of 10 pieces come out good: 7 copies give at least 4 with 97 %, 6 with 90 %.'
        """
        fewer = f", {self.copies - 1} with {_percent(self.one_fewer)}" if self._short else ""
        return (
            f"{self.wanted} wanted, {_out_of(self.mean)} pieces come out good: "
            f"{self.copies} {'copies give' if self.copies > 1 else 'copy gives'} "
            f"at least {self.wanted} with {_percent(self.chance)}{fewer}."
        )

    @property
    def _short(self) -> bool:
        return self.copies > self.wanted


def copies_to_print(wanted: int, success: Chance, *, sureness: float = SURENESS) -> Copies:
    """The smallest number of copies of which at least `wanted` are good, with `sureness`.

    success: a fixed chance per piece (above 0, up to 1; copies binomial), or what is known of it
    (copies beta-binomial). Raises ValueError for wanted outside 1 to 500, sureness outside 0.5
    to 0.999, and where more than 2,000 copies would be needed.

    >>> copies_to_print(1, 0.95).copies
    1
    >>> copies_to_print(4, Success(8, 2)).copies
    8
    """
    if not 1 <= wanted <= 500:
        raise ValueError(f"{wanted} good pieces wanted: 1 to 500 can be planned.")
    if not 0.5 <= sureness <= 0.999:
        raise ValueError(f"A sureness of {sureness}: 0.5 to 0.999 can be planned.")
    _check(success)
    before, copies = 0.0, wanted
    reached = chance_of_enough(wanted, copies, success)
    while reached < sureness - ROUNDING:
        copies += 1
        if copies > MOST_COPIES:
            raise ValueError(
                f"More than {MOST_COPIES} copies would be needed: too few come out good."
            )
        before, reached = reached, chance_of_enough(wanted, copies, success)
    return Copies(copies, wanted, reached, before, _mean(success), sureness)


def chance_of_enough(wanted: int, copies: int, success: Chance) -> float:
    """Chance, 0 to 1, that at least `wanted` of `copies` come out good.

    Binomial for a fixed chance per piece, beta-binomial for what is known of it. Raises
    ValueError for a fixed chance outside 0 (not included) to 1.

    >>> round(chance_of_enough(1, 2, 0.5), 6)
    0.75
    >>> round(chance_of_enough(1, 1, Success(8, 2)), 6)
    0.8
    """
    _check(success)
    if wanted > copies:
        return 0.0
    if isinstance(success, Success):
        return max(0.0, 1.0 - _chance_of_fewer(wanted, copies, success))
    return float(bdtrc(wanted - 1, copies, success))


def chain(steps: Sequence[Chance]) -> Chance:
    """The success of all steps one after another, taken as independent.

    Fixed chances multiply; as soon as one is a Success, the product's mean and spread are
    those of the one Success returned. Raises ValueError for no steps.

    >>> round(chain([0.95, 0.9, 0.92, 0.97]), 6)
    0.763002
    >>> joint = chain([SEALING, CUTTING_AND_LAYING])
    >>> round(joint.mean, 6)
    0.765
    """
    if not steps:
        raise ValueError("No steps: at least one is needed.")
    mean = square = 1.0
    for step in steps:
        _check(step)
        mean *= _mean(step)
        square *= _square(step)
    spread = square - mean * mean
    if not any(isinstance(step, Success) for step in steps):
        return mean
    weight = (mean - square) / spread
    return Success(mean * weight, (1 - mean) * weight)


def _check(success: Chance) -> None:
    if not isinstance(success, Success) and not 0 < success <= 1:
        raise ValueError(f"A success of {success} per piece: above 0 and up to 1 is possible.")


def _mean(success: Chance) -> float:
    return success.mean if isinstance(success, Success) else success


def _square(success: Chance) -> float:
    """The mean of the chance squared."""
    if not isinstance(success, Success):
        return success**2
    total = success.good + success.spoiled
    return success.mean * (success.good + 1) / (total + 1)


def _chance_of_fewer(wanted: int, copies: int, success: Success) -> float:
    """Beta-binomial chance of fewer good ones than wanted."""
    good, a, b = np.arange(wanted), success.good, success.spoiled
    ways = -log1p(copies) - betaln(copies - good + 1, good + 1)
    return float(np.exp(ways + betaln(good + a, copies - good + b) - betaln(a, b)).sum())


def _percent(chance: float) -> str:
    """Whole percent, but never 100 % for less than certain."""
    if chance > 0.99 and chance < 1:
        return f"{chance * 100:.1f} %" if chance < 0.9995 else "over 99.9 %"
    return f"{chance * 100:.0f} %"


def _out_of(mean: float) -> str:
    """A share in pieces of ten where that is exact, else in pieces of a hundred."""
    tenths = mean * 10
    if abs(tenths - round(tenths)) < ROUNDING:
        return f"{round(tenths)} of 10"
    return f"{mean * 100:.0f} of 100"
