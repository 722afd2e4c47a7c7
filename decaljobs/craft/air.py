"""The air of one room over time: readings joined by straight lines, and what is expected beyond."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, tzinfo
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from decaljobs.craft.climate import Numbers, checked_humidity, checked_temperature

HOUR = 3600.0  # seconds


class Reading(NamedTuple):
    """One reading of a room: an aware moment, °C and %RH."""

    moment: datetime
    temperature: float
    humidity: float


class AirNow(NamedTuple):
    """Air at one moment: °C and %RH."""

    temperature: float
    humidity: float


def utc(moment: datetime) -> datetime:
    """The moment in UTC; raises ValueError for a naive one.

    >>> utc(datetime(2026, 1, 1, tzinfo=UTC)).isoformat()
    '2026-01-01T00:00:00+00:00'
    """
    if moment.tzinfo is None or moment.utcoffset() is None:
        raise ValueError("the moment must be timezone-aware")
    return moment.astimezone(UTC)


def from_seconds(seconds: float) -> datetime:
    """The UTC moment so many seconds after 1970.

    >>> from_seconds(0).isoformat()
    '1970-01-01T00:00:00+00:00'
    """
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=float(seconds))


def utc_offsets(zone: tzinfo, hours: Numbers) -> Numbers:
    """Seconds that local time is ahead of UTC at whole hours given as seconds since 1970.

    >>> utc_offsets(UTC, np.array([0.0, 3600.0])).tolist()
    [0.0, 0.0]
    """
    days, day_of = np.unique(hours // 86400.0, return_inverse=True)
    midnights = np.append(days, days[-1] + 1) * 86400.0
    at_midnight = np.array([_offset(zone, m) for m in midnights])
    # A day on which the clocks change has to be asked hour by hour; the others do not.
    next_day = np.array([_offset(zone, m + 86400.0) for m in midnights[:-1]])
    offsets = at_midnight[:-1][day_of]
    for index in np.flatnonzero((at_midnight[:-1] != next_day)[day_of]):
        offsets[index] = _offset(zone, hours[index])
    return offsets


def _offset(zone: tzinfo, seconds: float) -> float:
    offset = from_seconds(seconds).astimezone(zone).utcoffset()
    return offset.total_seconds() if offset else 0.0


@dataclass(frozen=True)
class DayOfAir:
    """The air of one day in °C and %RH at each local whole hour, 24 of each, repeated for ever.

    Raises ValueError unless there are 24 of each, from -40 to 60 °C and 0 to 100 %RH.

    >>> DayOfAir.constant(20.0, 50.0).is_constant
    True
    """

    temperatures: tuple[float, ...]
    humidities: tuple[float, ...]
    zone: tzinfo = UTC

    def __post_init__(self) -> None:
        if len(self.temperatures) != 24 or len(self.humidities) != 24:
            raise ValueError("a day of air needs 24 temperatures and 24 humidities")
        checked_temperature(self.temperatures)
        checked_humidity(self.humidities)

    @classmethod
    def constant(cls, temperature: float, humidity: float) -> "DayOfAir":
        return cls((float(temperature),) * 24, (float(humidity),) * 24)

    @property
    def is_constant(self) -> bool:
        return len(set(self.temperatures)) == len(set(self.humidities)) == 1

    def knots(self, start: float, end: float) -> Numbers:
        """Rows of seconds since 1970, °C and %RH at the UTC whole hours from start to end."""
        hours = np.arange(np.ceil(start / HOUR), np.floor(end / HOUR) + 1) * HOUR
        if self.is_constant and hours.size > 2:
            hours = hours[[0, -1]]
        if not hours.size:
            return np.empty((3, 0))
        local = (hours + utc_offsets(self.zone, hours)) / HOUR % 24.0
        clock = np.arange(25)
        around = [np.append(v, v[0]) for v in (self.temperatures, self.humidities)]
        return np.array([hours, *(np.interp(local, clock, values) for values in around)])


@dataclass(frozen=True, eq=False)
class Air:
    """The air of one room: rows of seconds since 1970 UTC, °C and %RH, linear in between.

    `knots` is 3 × n in order of time; two knots at one moment are a sudden change. Before the
    first and after the last knot the air passes within two hours to the `before` and `after`
    days. `filled` lists the stretches that were not read but expected.
    """

    knots: Numbers
    before: DayOfAir
    after: DayOfAir
    filled: tuple[tuple[datetime, datetime], ...] = ()
    clocks: dict[object, object] = field(default_factory=dict, repr=False)

    def __post_init__(self) -> None:
        if self.knots.ndim != 2 or self.knots.shape[0] != 3:
            raise ValueError("knots must be 3 rows: seconds, °C and %RH")
        if not np.all(np.isfinite(self.knots[0])) or np.any(np.diff(self.knots[0]) < 0):
            raise ValueError("knots must be finite and in order of time")
        checked_temperature(self.knots[1])
        checked_humidity(self.knots[2])

    @classmethod
    def steady(cls, temperature: float, humidity: float) -> "Air":
        """Air that stands at °C (-40 to 60) and %RH (0 to 100) for ever.

        >>> Air.steady(20, 50).at(datetime(2026, 1, 1, tzinfo=UTC))
        AirNow(temperature=20.0, humidity=50.0)
        """
        day = DayOfAir.constant(temperature, humidity)
        return cls(np.empty((3, 0)), day, day)

    @classmethod
    def from_readings(
        cls, readings: Iterable[Reading | tuple[datetime, float, float]], **beyond: DayOfAir
    ) -> "Air":
        """Air through readings of (aware moment, °C, %RH) in any order; see `from_arrays`."""
        rows = [(utc(m).timestamp(), float(t), float(h)) for m, t, h in readings]
        columns = np.array(rows, dtype=np.float64).reshape(-1, 3).T
        return cls.from_arrays(*columns, **beyond)

    @classmethod
    def from_arrays(
        cls,
        seconds: ArrayLike,
        temperature: ArrayLike,
        humidity: ArrayLike,
        *,
        before: DayOfAir | None = None,
        after: DayOfAir | None = None,
    ) -> "Air":
        """Air through readings at seconds since 1970, °C and %RH, each of length n > 0.

        Sorted here; a repeat is dropped, one moment with two values raises ValueError. Without
        a `before` or `after` day the first or last reading holds for ever.
        """
        rows = np.array([seconds, temperature, humidity], dtype=np.float64)
        if not rows.shape[1]:
            raise ValueError("air needs at least one reading")
        rows = np.unique(rows, axis=1)
        twice = np.flatnonzero(np.diff(rows[0]) == 0)
        if twice.size:
            moment = from_seconds(rows[0, twice[0]]).isoformat()
            raise ValueError(f"two different readings at {moment}")
        first, last = (DayOfAir.constant(*rows[1:, i]) for i in (0, -1))
        return cls(rows, before or first, after or last)

    def window(self, start: float, end: float) -> Numbers:
        """Knots (3 × n) that reach from at or before `start` to at or after `end` seconds."""
        start, end = start - 2 * HOUR, end + 2 * HOUR
        if not self.knots.size:
            return self.after.knots(start, end)
        times = self.knots[0]
        low = max(int(np.searchsorted(times, start, "right")) - 1, 0)
        high = int(np.searchsorted(times, end, "left")) + 1
        early = self.before.knots(start, min(times[0] - HOUR, end))
        late = self.after.knots(max(times[-1] + HOUR, start), end)
        return np.hstack([early, self.knots[:, low:high], late])

    def at(self, moment: datetime) -> AirNow:
        """°C and %RH at an aware moment; at a sudden change the air after it."""
        seconds = utc(moment).timestamp()
        knots = self.window(seconds, seconds)
        right = int(np.searchsorted(knots[0], seconds, "right"))
        left, right = knots[:, right - 1], knots[:, min(right, knots.shape[1] - 1)]
        span = right[0] - left[0]
        share = (seconds - left[0]) / span if span else 0.0
        _, temperature, humidity = left + share * (right - left)
        return AirNow(float(temperature), float(humidity))


def moved_air(stays: Sequence[tuple[datetime, Air]]) -> Air:
    """The air met by a layer that dries in several rooms: (aware moment moved in, its air).

    Raises ValueError when empty or not in order of time. The first room also holds before its
    own moment, the last for ever.

    >>> noon = datetime(2026, 1, 1, 12, tzinfo=UTC)
    >>> moved_air([(noon, Air.steady(20, 50)), (noon, Air.steady(15, 70))]).at(noon).temperature
    15.0
    """
    if not stays:
        raise ValueError("a layer dries in at least one room")
    moments = [utc(moment).timestamp() for moment, _ in stays]
    if moments != sorted(moments):
        raise ValueError("moves must be in order of time")
    airs = [air for _, air in stays]
    parts = [_between(air, a, b) for air, a, b in zip(airs, moments, moments[1:], strict=False)]
    parts.append(_from(airs[-1], moments[-1]) if len(airs) > 1 else airs[-1].knots)
    filled = tuple(stretch for air in airs for stretch in air.filled)
    return Air(np.hstack(parts), airs[0].before, airs[-1].after, filled)


def _between(air: Air, start: float, end: float) -> Numbers:
    inner = air.window(start, end)
    inner = inner[:, (inner[0] > start) & (inner[0] < end)]
    ends = [np.array([[s], *([v] for v in air.at(from_seconds(s)))]) for s in (start, end)]
    return np.hstack([ends[0], inner, ends[1]])


def _from(air: Air, start: float) -> Numbers:
    last = air.knots[0, -1] if air.knots.size else start
    return _between(air, start, max(last, start + 2 * HOUR))
