"""What a room's air is expected to be: from its own last fourteen days, else as stated."""

from dataclasses import dataclass
from datetime import datetime, tzinfo

import numpy as np
from numpy.typing import ArrayLike, NDArray

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.moments import HOUR, from_seconds, utc_offsets
from decaljobs.craft.room.air import Air
from decaljobs.craft.room.day_of_air import DayOfAir

LONGEST_GAP = 6.0  # h, readings further apart are not joined by a straight line
DAYS_BACK = 14  # days of readings that the expected air is drawn from
WHOLE_DAY = 20  # hours of 24 that make a measured day
HALF_READ = 0.5  # share of an hour that must be read for it to count


@dataclass(frozen=True)
class HourlyAir:
    """Means of °C and %RH around each local whole hour of a record, NaN where it was not read.

    `centres` are seconds since 1970, `of_day` the local hours 0 to 23; all of length n.
    """

    centres: Numbers
    of_day: NDArray[np.int64]
    temperature: Numbers
    humidity: Numbers


def room_air(
    seconds: ArrayLike,
    temperature: ArrayLike,
    humidity: ArrayLike,
    *,
    stated: DayOfAir,
    zone: tzinfo,
) -> Air:
    """The air of a room from its readings: seconds since 1970, °C and %RH, each of length n.

    Gaps over 6 h are filled with the air expected from the 14 days before the gap and listed in
    `filled`; after the last reading the 14 days before it are expected by hour of day. Hours of
    day never read, and the time before the first reading, follow the `stated` day. Raises
    ValueError as `Air.from_arrays`; n may be 0.

    >>> from datetime import UTC
    >>> shed = room_air([], [], [], stated=DayOfAir.constant(12, 70), zone=UTC)
    >>> shed.at(datetime(2026, 1, 1, tzinfo=UTC))
    AirNow(temperature=12.0, humidity=70.0)
    """
    if not np.size(seconds):
        return Air(np.empty((3, 0)), stated, stated)
    read = Air.from_arrays(seconds, temperature, humidity).knots
    hourly = hourly_air(read, zone)
    knots, filled = _without_gaps(read, hourly, stated, zone)
    days = _measured_days(hourly, read[0, -1], zone)
    after = _typical_day(hourly, read[0, -1], stated, zone)
    return Air(knots, stated, after, filled, days)


def hourly_air(read: Numbers, zone: tzinfo) -> HourlyAir:
    """Hourly means of straight lines through readings (3 × n), leaving out gaps over 6 h.

    >>> from datetime import UTC
    >>> hourly_air(np.array([[0.0, 7200.0], [10.0, 20.0], [50.0, 50.0]]), UTC).temperature[1]
    np.float64(15.0)
    """
    centres = _local_hours(read[0, 0], read[0, -1], zone)
    marks = np.append(centres - HOUR / 2, centres[-1] + HOUR / 2)
    times = np.union1d(read[0], marks)
    spans = np.diff(times)
    before = np.searchsorted(read[0], times[:-1], "right")
    apart = np.diff(read[0], prepend=-np.inf, append=np.inf)
    spans = np.where(apart[before] > LONGEST_GAP * HOUR, 0.0, spans)
    at_marks = np.searchsorted(times, marks)
    covered = _sums(spans, at_marks)
    enough = np.where(covered >= HALF_READ * HOUR, covered, np.nan)
    means = []
    for values in read[1:]:
        line = np.interp(times, read[0], values)
        means.append(_sums(spans * (line[:-1] + line[1:]) / 2.0, at_marks) / enough)
    of_day = np.round((centres + utc_offsets(zone, centres)) / HOUR).astype(np.int64) % 24
    return HourlyAir(centres, of_day, *means)


def _sums(parts: Numbers, edges: NDArray[np.int64]) -> Numbers:
    return np.diff(np.concatenate([[0.0], np.cumsum(parts)])[edges])


def _local_hours(start: float, end: float, zone: tzinfo) -> Numbers:
    """Whole hours by the zone's wall clock, also where that is half an hour off UTC's."""
    past_hour = utc_offsets(zone, np.array([end]))[0] % HOUR
    first = np.floor((start + past_hour) / HOUR) * HOUR - past_hour
    return np.arange(first, end + HOUR, HOUR)


def _back_from(hourly: HourlyAir, moment: float) -> slice:
    """The hours of the 14 days that end at a moment given in seconds."""
    last = int(np.searchsorted(hourly.centres, moment - HOUR / 2, "right"))
    return slice(max(last - DAYS_BACK * 24, 0), last)


def _typical_day(hourly: HourlyAir, moment: float, stated: DayOfAir, zone: tzinfo) -> DayOfAir:
    """The mean day of the 14 days before a moment (seconds); unread hours as stated."""
    back = _back_from(hourly, moment)
    rows = hourly.of_day[back], hourly.temperature[back], hourly.humidity[back]
    return _day(*rows, stated.figures, zone)


def _day(
    of_day: NDArray[np.int64],
    temperature: Numbers,
    humidity: Numbers,
    otherwise: Numbers,
    zone: tzinfo,
) -> DayOfAir:
    read = ~np.isnan(temperature)
    counts = np.bincount(of_day[read], minlength=24)
    figures = []
    for values, fallback in zip((temperature, humidity), otherwise, strict=True):
        sums = np.bincount(of_day[read], values[read], minlength=24)
        figures.append(np.divide(sums, counts, out=fallback.copy(), where=counts > 0))
    # Means of floats can pass the range they came from by a rounding error.
    dampness = np.clip(figures[1], 0.0, 100.0)
    return DayOfAir(tuple(figures[0].tolist()), tuple(dampness.tolist()), zone)


def _measured_days(hourly: HourlyAir, moment: float, zone: tzinfo) -> tuple[DayOfAir, ...]:
    """The up to 14 spans of 24 h before a moment (seconds) that were read for 20 h or more."""
    back = _back_from(hourly, moment)
    days = []
    for end in range(back.stop, back.start + 23, -24):
        span = slice(end - 24, end)
        temperature, humidity = hourly.temperature[span], hourly.humidity[span]
        read = ~np.isnan(temperature)
        if np.count_nonzero(read) >= WHOLE_DAY:
            mean = np.array([np.full(24, v[read].mean()) for v in (temperature, humidity)])
            days.append(_day(hourly.of_day[span], temperature, humidity, mean, zone))
    return tuple(days)


def _without_gaps(
    read: Numbers, hourly: HourlyAir, stated: DayOfAir, zone: tzinfo
) -> tuple[Numbers, tuple[tuple[datetime, datetime], ...]]:
    gaps = np.flatnonzero(np.diff(read[0]) > LONGEST_GAP * HOUR)
    parts, filled, done = [], [], 0
    for gap in gaps:
        start, end = read[0, gap], read[0, gap + 1]
        day = _typical_day(hourly, start, stated, zone)
        parts += [read[:, done : gap + 1], day.knots(start + HOUR, end - HOUR)]
        filled.append((from_seconds(start), from_seconds(end)))
        done = int(gap) + 1
    return np.hstack([*parts, read[:, done:]]), tuple(filled)
