"""How many copies to print so that enough of them come out good."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from heapq import heapify, heapreplace
from math import isfinite

import numpy as np
from scipy.special import betaln, xlog1py, xlogy

from decaljobs.craft.figures import whole_percent

#: Chance wanted that enough copies come out good (common practice, no source).
SURENESS = 0.95
#: More copies than this of one decal are not proposed (a limit against slips, no source).
MOST_COPIES = 2_000
#: More good pieces than this are not planned at one go (a limit, no source).
MOST_WANTED = 500
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


Chance = Success | float


@dataclass(frozen=True)
class StepRecord:
    """A step that every piece goes through: its name, what is usual, and the maker's record."""

    words: str
    usual: Success
    good: int = 0
    spoiled: int = 0

    @property
    def success(self) -> Success:
        """What is usual with the record added to it.

        >>> StepRecord("sealing", Success(18, 2), good=9, spoiled=1).success
        Success(good=27, spoiled=3)
        """
        return self.usual.with_record(self.good, self.spoiled)

    @property
    def reason(self) -> str:
        """The step with its numbers, as part of a sentence.

        >>> StepRecord("sealing", Success(18, 2)).reason
        'sealing 90 % (usual)'
        """
        own = self.good + self.spoiled
        how = f"usual and {own} own" if own else "usual"
        return f"{self.words} {_percent(self.success.mean)} ({how})"


#: Steps of a piece from the print to the model, with what is usual before there is a record (from
#: memory, no source).
SEALING = StepRecord("printing and sealing", Success(18, 2))
CUTTING_AND_LAYING = StepRecord("cutting and laying", Success(17, 3))


@dataclass(frozen=True)
class Copies:
    """Copies proposed, with the numbers behind them.

    chance: that at least the wanted good ones are among them, one_fewer: among one copy fewer,
    sureness: what chance was asked for; all 0 to 1. steps: the share that comes out good, in
    words, of each step. lying: pieces that are there already and count with the copies.
    """

    copies: int
    wanted: int
    chance: float
    one_fewer: float
    sureness: float
    steps: tuple[str, ...]
    lying: int = 0

    @property
    def reason(self) -> str:
        """Why so many, in two sentences.

        >>> copies_to_print(4, 0.8).reason
        '4 wanted; come out good: 80 %. 7 copies give at least 4 with 97 %, 6 copies with 90 %.'
        >>> copies_to_print(4, 0.8, lying=[3]).reason.partition("; ")[2]
        'come out good: 80 %. 4 more give at least 4 with 97 %, 3 more with 90 %.'
        >>> copies_to_print(1, 0.8, lying=[2]).reason
        '1 wanted, 2 lie here; come out good: 80 %. They give at least 1 with 96 %.'
        """
        there = f", {self.lying} {'lie' if self.lying > 1 else 'lies'} here" if self.lying else ""
        fewer = f", {self._one_fewer}" if self._short else ""
        return (
            f"{self.wanted} wanted{there}; come out good: {', '.join(self.steps)}. "
            f"{self._giving} at least {self.wanted} with {_percent(self.chance)}{fewer}."
        )

    @property
    def _giving(self) -> str:
        """What gives the wanted ones, as a sentence begins."""
        if self.lying and not self.copies:
            return "They give" if self.lying > 1 else "It gives"
        what = "more" if self.lying else "copies" if self.copies > 1 else "copy"
        return f"{self.copies} {what} {'give' if self.copies > 1 else 'gives'}"

    @property
    def _one_fewer(self) -> str:
        """What one copy fewer would give; never the chance asked for, which it misses."""
        fewer, asked = self.copies - 1, _percent(self.sureness)
        what = "more" if self.lying else "copies" if fewer > 1 else "copy"
        told = _percent(self.one_fewer)
        return f"{fewer} {what} with {f'just under {asked}' if told == asked else told}"

    @property
    def _short(self) -> bool:
        """Whether one copy fewer could do at all."""
        return self.copies > max(0, self.wanted - self.lying)


def copies_to_print(
    wanted: int,
    *steps: StepRecord | Chance,
    sureness: float = SURENESS,
    lying: Sequence[int] = (),
) -> Copies:
    """The smallest number of copies of which at least `wanted` are good, with `sureness`.

    steps, lying: what every copy goes through, one after another, and the pieces that are there
    already, as in `chances_of_enough`; where those are enough, no copy is proposed. Raises
    ValueError for no steps, wanted outside 1 to 500, sureness outside 0.5 to 0.999, and where
    more than 2,000 copies would be needed.

    >>> copies_to_print(1, 0.95).copies
    1
    >>> copies_to_print(4, Success(8, 2)).copies
    8
    >>> copies_to_print(1, SEALING, CUTTING_AND_LAYING).copies
    3
    >>> copies_to_print(1, SEALING, CUTTING_AND_LAYING, lying=[0, 1]).copies
    1
    """
    if not 1 <= wanted <= MOST_WANTED:
        raise ValueError(f"{wanted} good pieces wanted: 1 to {MOST_WANTED} can be planned.")
    if not 0.5 <= sureness <= 0.999:
        raise ValueError(f"A sureness of {sureness}: 0.5 to 0.999 can be planned.")
    return _smallest(wanted, steps, sureness, tuple(lying))


@lru_cache(maxsize=512)
def _smallest(
    wanted: int, steps: tuple[StepRecord | Chance, ...], sureness: float, lying: tuple[int, ...]
) -> Copies:
    most = 2 * wanted + 8
    while True:
        chances = chances_of_enough(wanted, most, *steps, lying=lying)
        enough = np.flatnonzero(chances >= sureness - ROUNDING)
        if len(enough):
            break
        if most == MOST_COPIES:
            raise ValueError(
                f"More than {MOST_COPIES} copies would be needed: too few come out good."
            )
        most = min(2 * most, MOST_COPIES)
    copies = int(enough[0])
    said = tuple(
        step.reason if isinstance(step, StepRecord) else _percent(_mean(step)) for step in steps
    )
    fewer = float(chances[copies - 1]) if copies else 0.0
    return Copies(copies, wanted, float(chances[copies]), fewer, sureness, said, sum(lying))


def chances_of_enough(
    wanted: int, most: int, *steps: StepRecord | Chance, lying: Sequence[int] = ()
) -> np.ndarray:
    """Chance, 0 to 1, that at least `wanted` of 0, 1, … `most` copies come through every step.

    A step with a fixed chance per piece (above 0, up to 1) lets a binomial number of the copies
    that reach it through; where the chance is only known as a Success, a beta-binomial number:
    all copies share the one chance that is not known. Steps are taken as independent of each
    other, and the number that reaches a step is summed over. lying: for each step, how many
    pieces that are there already stand before it and go through it and the rest with the copies
    (each 0 to 2,000; none where it is left out). Raises ValueError for no steps, for a fixed
    chance out of range, and for numbers of lying pieces that fit no steps.

    >>> chances_of_enough(1, 2, 0.5).round(6).tolist()
    [0.0, 0.5, 0.75]
    >>> chances_of_enough(1, 1, Success(18, 2), Success(17, 3)).round(6).tolist()
    [0.0, 0.765]
    >>> chances_of_enough(1, 1, 0.5, 0.8, lying=[0, 1]).round(6).tolist()
    [0.8, 0.88]
    """
    if not steps:
        raise ValueError("No steps: at least one is needed.")
    before = tuple(lying) or (0,) * len(steps)
    if len(before) != len(steps) or not all(0 <= there <= MOST_COPIES for there in before):
        raise ValueError(
            f"Lying pieces {before}: one number a step is needed, each 0 to {MOST_COPIES}."
        )
    chances = (np.arange(most + sum(before) + 1) >= wanted).astype(float)
    for step, there in zip(reversed(steps), reversed(before), strict=True):
        chances = (_through(len(chances) - 1, _chance_of(step)) @ chances)[there:]
    return chances


def copies_each(wanted: int, *steps: StepRecord | Chance) -> float:
    """Copies for each of so many equal pieces wanted (1 or more), counted together; no unit.

    Of more than 500 the share is that of 500. Raises ValueError as `copies_to_print` does.

    >>> copies_each(1, Success(8, 2)), copies_each(4, Success(8, 2))
    (3.0, 2.0)
    """
    few = min(wanted, MOST_WANTED)
    return copies_to_print(few, *steps).copies / few


def dealt(copies: int, lying: Sequence[int]) -> list[int]:
    """Copies for each of several equal decals, so that all have as many with what lies there.

    copies: all of them, 0 or more. lying: pieces that each has already, each 0 or more. Each copy
    goes to whoever has fewest by then, the first of them. Raises ValueError where nobody is
    there to deal to.

    >>> dealt(8, [0, 0, 0, 0]), dealt(9, [0, 0, 0, 0]), dealt(3, [2, 0])
    ([2, 2, 2, 2], [3, 2, 2, 2], [1, 2])
    """
    if not lying:
        raise ValueError("No decal to deal to: at least one is needed.")
    shares = [0] * len(lying)
    order = [(there, place) for place, there in enumerate(lying)]
    heapify(order)
    for _ in range(copies):
        there, place = order[0]
        shares[place] += 1
        heapreplace(order, (there + 1, place))
    return shares


def _chance_of(step: StepRecord | Chance) -> Chance:
    chance = step.success if isinstance(step, StepRecord) else step
    if not isinstance(chance, Success) and not 0 < chance <= 1:
        raise ValueError(f"A success of {chance} per piece: above 0 and up to 1 is possible.")
    return chance


def _through(most: int, chance: Chance) -> np.ndarray:
    """Chances that of so many copies (row) so many come out good (column) of one step."""
    copies, good = np.tril_indices(most + 1)
    spoiled = copies - good
    logs = -np.log1p(copies) - betaln(spoiled + 1, good + 1)
    if isinstance(chance, Success):
        a, b = chance.good, chance.spoiled
        logs += betaln(good + a, spoiled + b) - betaln(a, b)
    else:
        logs += xlogy(good, chance) + xlog1py(spoiled, -chance)
    table = np.zeros((most + 1, most + 1))
    table[copies, good] = np.exp(logs)
    return table


def _mean(chance: Chance) -> float:
    return chance.mean if isinstance(chance, Success) else chance


def _percent(chance: float) -> str:
    """Whole percent, but tenths above 99: there one copy more is still to be told apart."""
    if 0.99 < chance < 1:
        return f"{chance * 100:.1f} %" if chance < 0.9995 else "over 99.9 %"
    return whole_percent(chance)
