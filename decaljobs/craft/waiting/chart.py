"""What the drying chart and its table show: a room's air and what an hour counts, over time."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from decaljobs.craft.arrays import Flags, Numbers
from decaljobs.craft.climate import drying_rate
from decaljobs.craft.drying import WaitTerms
from decaljobs.craft.moments import utc
from decaljobs.craft.room.air import Air

FEWEST_STEP = timedelta(minutes=1)


@dataclass(frozen=True, eq=False)
class AirSeries:
    """°C, %RH and counted hours an hour at n moments (UTC), each of length n.

    `expected` marks moments whose air was not read; `standing` holds the stretches from moment
    to moment in which drying stood still.
    """

    moments: tuple[datetime, ...]
    temperature: Numbers
    humidity: Numbers
    rate: Numbers
    expected: Flags
    standing: tuple[tuple[datetime, datetime], ...]


def air_series(
    terms: WaitTerms, air: Air, start: datetime, end: datetime, step: timedelta
) -> AirSeries:
    """The room's air and the terms' rate from an aware start to an aware end, every `step`.

    Raises ValueError for a naive moment, an end not after the start, or a step under 1 minute.

    >>> from datetime import UTC
    >>> from decaljobs.craft.climate import Clock
    >>> noon = datetime(2026, 1, 1, 12, tzinfo=UTC)
    >>> hour = timedelta(hours=1)
    >>> series = air_series(
    ...     WaitTerms(12, 8, Clock.WATER), Air.steady(20, 90), noon, noon + 2 * hour, hour)
    >>> series.rate.tolist(), len(series.standing)
    ([0.0, 0.0, 0.0], 1)
    """
    start, end = utc(start), utc(end)
    if end <= start:
        raise ValueError("the end must lie after the start")
    if step < FEWEST_STEP:
        raise ValueError("the step must be 1 minute or more")
    moments = tuple(start + i * step for i in range((end - start) // step + 1))
    seconds = np.array([moment.timestamp() for moment in moments])
    temperature, humidity = air.along(seconds)
    rate = drying_rate(terms.clock, temperature, humidity, **terms.climate)
    standing = _stretches(moments, rate == 0.0)
    return AirSeries(moments, temperature, humidity, rate, _expected(air, moments), standing)


def _expected(air: Air, moments: tuple[datetime, ...]) -> Flags:
    first, last = air.first_reading, air.last_reading
    if first is None or last is None:
        return np.ones(len(moments), dtype=np.bool_)
    return np.array(
        [
            not first <= moment <= last or any(begin < moment < end for begin, end in air.filled)
            for moment in moments
        ]
    )


def _stretches(
    moments: tuple[datetime, ...], still: Flags
) -> tuple[tuple[datetime, datetime], ...]:
    edges = np.diff(np.concatenate([[False], still, [False]]).astype(np.int8))
    begins, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    return tuple((moments[b], moments[e]) for b, e in zip(begins, ends, strict=True))
