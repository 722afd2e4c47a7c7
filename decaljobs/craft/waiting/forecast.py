"""When a wait is likely to be over: a time, and its range over the room's measured days."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import ArrayLike

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.climate import drying_rate
from decaljobs.craft.drying import WaitTerms, ready_at_many
from decaljobs.craft.room.air import Air
from decaljobs.craft.room.day_of_air import DayOfAir

FEWEST_DAYS = 5  # measured days below which a range would be a guess
SLOW_DAY, FAST_DAY = 0.10, 0.90  # shares of days that dry no faster


@dataclass(frozen=True)
class Forecast:
    """When a wait is over (UTC): as expected, on fast days and on slow days.

    None for a moment that does not come within 366 days. `has_range` is False when the room was
    measured on fewer than five days; then all three moments are the same.
    """

    ready: datetime | None
    early: datetime | None
    late: datetime | None
    has_range: bool


def forecast(
    terms: WaitTerms, air: Air, start: datetime, *, extra_reference_hours: float = 0.0
) -> Forecast:
    """When a wait begun at an aware `start` is over, with a range from slow and fast days.

    The days measured in the room are ranked by what the terms' clock would count in them; the
    range repeats the 10th and the 90th percentile day after the last reading. Raises ValueError
    as `ready_at`.

    >>> from datetime import UTC
    >>> from decaljobs.craft.climate import Clock
    >>> start = datetime(2026, 1, 1, tzinfo=UTC)
    >>> seen = forecast(WaitTerms(12, 8, Clock.WATER), Air.steady(20, 50), start)
    >>> seen.ready.hour, seen.has_range
    (12, False)
    """
    (seen,) = forecast_many(terms, air, [start], extra_reference_hours=extra_reference_hours)
    return seen


def forecast_many(
    terms: WaitTerms,
    air: Air,
    starts: Sequence[datetime],
    *,
    extra_reference_hours: ArrayLike = 0.0,
) -> list[Forecast]:
    """The forecast of each wait begun at aware `starts` under the same terms in the same air.

    `extra_reference_hours` (0 to 20,000) is one figure or one for each start. Raises ValueError as
    `ready_at_many`.

    >>> from datetime import UTC
    >>> from decaljobs.craft.climate import Clock
    >>> noon = datetime(2026, 1, 1, 12, tzinfo=UTC)
    >>> cool, mild = DayOfAir.constant(10, 50), DayOfAir.constant(20, 50)
    >>> air = Air(np.empty((3, 0)), mild, mild, days=(cool, *[mild] * 4))
    >>> (seen,) = forecast_many(WaitTerms(12, 8, Clock.WATER), air, [noon])
    >>> [moment.isoformat()[:13] for moment in (seen.early, seen.ready, seen.late)]
    ['2026-01-02T00', '2026-01-02T00', '2026-01-02T12']
    """
    extra = {"extra_reference_hours": extra_reference_hours}
    ready = ready_at_many(terms, air, starts, **extra)
    if len(air.days) < FEWEST_DAYS:
        return [Forecast(moment, moment, moment, False) for moment in ready]
    others = [ready_at_many(terms, other, starts, **extra) for other in _slow_and_fast(terms, air)]
    return [_ranged(*moments) for moments in zip(ready, *others, strict=True)]


def _ranged(*moments: datetime | None) -> Forecast:
    """The time of day can let the mean day come first or last of the three."""
    known = [moment for moment in moments if moment]
    early = min(known, default=None)
    late = None if None in moments else max(known)
    return Forecast(moments[0], early, late, True)


def _slow_and_fast(terms: WaitTerms, air: Air) -> tuple[Air, Air]:
    key = ("slow and fast", terms.clock_key)
    if key not in air.clocks:
        order = np.argsort([day_counts(terms, day) for day in air.days], kind="stable")
        last = len(air.days) - 1
        slow, fast = (air.days[order[round(share * last)]] for share in (SLOW_DAY, FAST_DAY))
        air.clocks[key] = (air.followed_by(slow), air.followed_by(fast))
    pair: tuple[Air, Air] = air.clocks[key]
    return pair


def day_counts(terms: WaitTerms, day: DayOfAir) -> float:
    """Reference hours that the terms' clock counts in a whole day of such air.

    >>> from decaljobs.craft.climate import Clock
    >>> day_counts(WaitTerms(12, 8, Clock.WATER), DayOfAir.constant(20, 50))
    24.0
    """
    knots = np.hstack([day.figures, day.figures[:, :1]])
    tenths = np.arange(0.05, 24.0, 0.1)
    temperature, humidity = (np.interp(tenths, np.arange(25), row) for row in knots)
    rates: Numbers = drying_rate(terms.clock, temperature, humidity, **terms.climate)
    return round(float(rates.mean()) * 24.0, 9)
