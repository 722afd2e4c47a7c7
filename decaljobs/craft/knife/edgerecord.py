"""The chance of a clean edge, corrected by how the maker's own edges came out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import expit, log_expit, logit

from decaljobs.craft.records.success import BELIEF, FEWEST

#: How far off the calculation is taken to be before there is a record: one standard deviation of
#: the log odds, so 0.9 stands for 0.77 to 0.96 (a choice).
SPREAD = 1.0
#: Log odds that a shift is looked for in, either way, and the steps between.
REACH, STEPS = 8.0, 3201
#: A computed chance is never taken for certain: nobody's hand is.
SUREST = 0.999


@dataclass(frozen=True)
class Edges:
    """Edges of art with one computed chance (0 to 1): those that came out clean, and not.

    Raises ValueError for a chance outside that range or a count below 0.
    """

    computed: float
    clean: int
    spoiled: int

    def __post_init__(self) -> None:
        if not 0 <= self.computed <= 1 or min(self.clean, self.spoiled) < 0:
            raise ValueError("a chance is 0 to 1, and counts are 0 or more")


@dataclass(frozen=True)
class EdgeChance:
    """A chance of a clean edge with its 90 % interval, and the record that it rests on.

    computed, chance, low and high are 0 to 1; of so many pieces so many came out clean, and so many
    were expected to.
    """

    computed: float
    chance: float
    low: float
    high: float
    clean: int
    pieces: int
    expected: float

    @property
    def is_too_few(self) -> bool:
        """Whether there are too few edges for the calculation to be corrected."""
        return self.pieces < FEWEST


def edge_chance(computed: float, seen: Sequence[Edges]) -> EdgeChance:
    """A computed chance (0 to 1), corrected by edges of art of any computed chance.

    The calculation may be too hopeful or too strict by one shift of the log odds for all art of
    one hand: normal with a spread of 1 before the record, the binomial chance of the record after
    it. The mean and equal tails are taken over a grid of shifts. Source: logistic recalibration in
    the large (D. R. Cox, Two further applications of a model for binary regression, Biometrika 45,
    1958), with a normal prior; from memory. ValueError for a chance outside 0 to 1.

    >>> found = edge_chance(0.9, [Edges(0.9, 12, 8)])
    >>> f"{found.chance:.2f} ({found.low:.2f} to {found.high:.2f})"
    '0.67 (0.51 to 0.82)'
    """
    if not 0 <= computed <= 1:
        raise ValueError(f"a chance of {computed}: 0 to 1 is possible")
    shifts = np.linspace(-REACH, REACH, STEPS)
    belief = -(shifts**2) / (2 * SPREAD**2)
    for edges in seen:
        odds = _odds(edges.computed) + shifts
        belief += edges.clean * log_expit(odds) + edges.spoiled * log_expit(-odds)
    weight = np.exp(belief - belief.max())
    weight /= weight.sum()
    chances = expit(_odds(computed) + shifts)
    tail = (1 - BELIEF) / 2
    low, high = np.interp([tail, 1 - tail], np.cumsum(weight), chances)
    return EdgeChance(
        computed=computed,
        chance=float(weight @ chances),
        low=float(low),
        high=float(high),
        clean=sum(edges.clean for edges in seen),
        pieces=sum(edges.clean + edges.spoiled for edges in seen),
        expected=sum(edges.computed * (edges.clean + edges.spoiled) for edges in seen),
    )


def _odds(chance: float) -> float:
    return float(logit(min(max(chance, 1 - SUREST), SUREST)))
