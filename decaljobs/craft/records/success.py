"""How often something comes out good, with the range that the figure leaves open."""

from __future__ import annotations

from dataclasses import dataclass

from scipy.special import betaincinv

from decaljobs.craft.figures import whole_percent
from decaljobs.craft.film.copies import Success

#: Share of belief that the range holds.
BELIEF = 0.90
#: With fewer pieces than this a figure says more about chance than about the hand (a choice).
FEWEST = 5


@dataclass(frozen=True)
class Rate:
    """Pieces that came out good of all, and the range of the true share, 0 to 1."""

    good: int
    spoiled: int
    low: float
    high: float

    @property
    def total(self) -> int:
        """Good and spoiled pieces together."""
        return self.good + self.spoiled

    @property
    def share(self) -> float:
        """Share that came out good; 0 where there is none."""
        return self.good / self.total if self.total else 0.0

    @property
    def is_too_few(self) -> bool:
        """Whether there are too few pieces for the figure to be shown."""
        return self.total < FEWEST

    @property
    def words(self) -> str:
        """As the records page says it.

        >>> rate_of(18, 2).words
        '90 % of 20 (73 to 96 %)'
        """
        if self.is_too_few:
            return f"too few yet ({self.total})"
        low, high = round(100 * self.low), round(100 * self.high)
        return f"{whole_percent(self.share)} of {self.total} ({low} to {high} %)"


def rate_of(good: int, spoiled: int, *, before: Success | None = None) -> Rate:
    """The rate of good pieces with its 90 % credible interval (equal tails of a Beta).

    before: what is known without the record; Beta(1, 1), every share alike, if None. ValueError
    for counts below 0. Source: Bayes' rule with a conjugate prior (any textbook of statistics).

    >>> rate = rate_of(0, 0)
    >>> round(rate.low, 3), round(rate.high, 3)
    (0.05, 0.95)
    """
    if good < 0 or spoiled < 0:
        raise ValueError(f"{good} good and {spoiled} spoiled: counts must be 0 or more")
    known = (before or Success(1, 1)).with_record(good, spoiled)
    tail = (1 - BELIEF) / 2
    low, high = (float(betaincinv(known.good, known.spoiled, at)) for at in (tail, 1 - tail))
    return Rate(good, spoiled, low, high)
