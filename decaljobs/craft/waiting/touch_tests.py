"""What the maker's finger teaches: more hours after 'not yet', and a better reference figure."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import expit, logit

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.drying import MOST_EXTRA, RANGES, WaitTerms

ADDED_SHARE = 0.25  # of the reference hours, added by 'not yet'; common practice, no source
FEWEST_TESTS = 5  # tests of one rule before a figure is proposed
DRY_SHARE = 0.9  # the proposed figure leaves one layer in ten to the finger
WRONG_SHARE = 0.01  # of tests that may be wrong (a slip of the finger or of the button)
PRIOR_SPREAD = math.log(2.0)  # one standard deviation: half or twice the rule's own figure
SPREADS = np.geomspace(0.02, 0.5, 25)  # log-logistic scale, about ±4 % to over twice as long
REACH = 8.0  # medians from an eighth to eight times the rule's figure


@dataclass(frozen=True)
class TouchTest:
    """One touch: the reference hours done at that time, and whether the layer was dry.

    Raises ValueError unless the hours are 0 to 20,000.
    """

    hours: float
    dry: bool

    def __post_init__(self) -> None:
        if not 0.0 <= self.hours <= MOST_EXTRA:
            raise ValueError(f"reference hours at a touch must be 0 to {MOST_EXTRA:g} h")


@dataclass(frozen=True)
class Proposal:
    """A reference figure in hours from touch tests, with the range it lies in about 4 times of 5.

    `tests` are the touches it rests on. `is_bracketed` is False while the finger has only ever
    said 'dry' or only 'not yet': then one end of the range is no more than a guess.
    """

    hours: float
    low: float
    high: float
    tests: int
    is_bracketed: bool


def added_hours(terms: WaitTerms, not_yet: Sequence[float]) -> float:
    """Extra reference hours after 'not yet' at so many reference hours done, in order.

    Each adds a quarter of the reference hours to what was asked, and at least so much to what
    is done.

    >>> from decaljobs.craft.climate import Clock
    >>> terms = WaitTerms(12, 8, Clock.WATER)
    >>> added_hours(terms, [9.0]), added_hours(terms, [20.0])
    (3.0, 11.0)
    """
    quarter = ADDED_SHARE * terms.reference_hours
    asked = terms.reference_hours
    for done in not_yet:
        asked = max(asked, done) + quarter
    return asked - terms.reference_hours


def dry_between(tests: Sequence[TouchTest]) -> tuple[float, float]:
    """Reference hours between which one layer became dry: (after, at the latest).

    >>> dry_between([TouchTest(9, False), TouchTest(13, True)])
    (9, 13)
    >>> dry_between([TouchTest(9, False)])
    (9, inf)
    """
    after = max((test.hours for test in tests if not test.dry), default=0.0)
    by = min((test.hours for test in tests if test.dry and test.hours > after), default=np.inf)
    return after, by


def propose(figure: float, layers: Sequence[Sequence[TouchTest]]) -> Proposal | None:
    """A reference figure in hours by which nine layers in ten are dry; None under five tests.

    `figure` is the rule's own, 0.01 to 2000 h; `layers` holds the tests of each layer. A touch
    only says that a layer became dry before or after it, so the data are interval-censored
    (Turnbull, Journal of the Royal Statistical Society B 38, 1976). Fitted is a log-logistic
    time to dry in which one test in a hundred may be wrong, as in psychometric functions with
    lapses (Wichmann and Hill, Perception & Psychophysics 63, 2001, from memory): over a grid of
    medians and spreads, with the rule's own figure as a weak prior. Never shorter than the
    shortest time ever found dry. Raises ValueError for a figure outside the range.

    >>> touched = [[TouchTest(h, h > 15)] for h in (10, 12, 14, 16, 18, 20)]
    >>> 14 < propose(12.0, touched).hours < 20
    True
    """
    least, most, unit = RANGES["reference_hours"]
    if not least <= figure <= most:
        raise ValueError(f"the reference figure must be {least:g} to {most:g} {unit}")
    tests = [test for layer in layers for test in layer]
    if len(tests) < FEWEST_TESTS:
        return None
    intervals = np.array([dry_between(layer) for layer in layers if layer], dtype=np.float64)
    low, hours, high = (float(hours) for hours in _quantiles(figure, intervals))
    shortest = min((test.hours for test in tests if test.dry), default=0.0)
    both = len({test.dry for test in tests}) == 2
    return Proposal(max(hours, shortest), low, max(high, shortest), len(tests), both)


def _quantiles(figure: float, intervals: Numbers) -> Numbers:
    """The 10, 50 and 90 % points of the time by which DRY_SHARE of layers are dry."""
    logs = np.linspace(-np.log(REACH), np.log(REACH), 161)
    medians, spreads = np.meshgrid(logs, SPREADS, indexing="ij")
    weight = -(logs[:, np.newaxis] ** 2) / (2.0 * PRIOR_SPREAD**2) + np.zeros_like(medians)
    with np.errstate(divide="ignore"):
        bounds = np.log(intervals / figure)
    for after, by in bounds:
        dried = _share(by, medians, spreads) - _share(after, medians, spreads)
        weight += np.log((1.0 - WRONG_SHARE) * dried + WRONG_SHARE / 2.0)
    weight = np.exp(weight - weight.max()).ravel()
    times = (medians + spreads * logit(DRY_SHARE)).ravel()
    order = np.argsort(times)
    below = np.cumsum(weight[order]) / weight.sum()
    found: Numbers = figure * np.exp(np.interp([0.1, 0.5, 0.9], below, times[order]))
    return found


def _share(log_hours: float, medians: Numbers, spreads: Numbers) -> Numbers:
    """Share of layers dry by then."""
    share: Numbers = expit((log_hours - medians) / spreads)
    return share
