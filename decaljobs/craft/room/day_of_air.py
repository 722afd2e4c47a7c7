"""Moments in UTC, and the air expected in one day hour by local hour."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from typing import NamedTuple

import numpy as np

from decaljobs.craft.climate import Numbers, checked_humidity, checked_temperature

HOUR = 3600.0  # seconds
#: Local hours at which stated air by day and by night begins: common practice, no source.
DAY_FROM, NIGHT_FROM = 7, 22


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
        """A day that stands at °C (-40 to 60) and %RH (0 to 100)."""
        return cls((float(temperature),) * 24, (float(humidity),) * 24)

    @classmethod
    def day_and_night(
        cls,
        day: AirNow,
        night: AirNow,
        *,
        zone: tzinfo = UTC,
        day_from: int = DAY_FROM,
        night_from: int = NIGHT_FROM,
    ) -> "DayOfAir":
        """A day from two stated figures (°C, %RH), changing at local whole hours 0 to 23.

        >>> shed = DayOfAir.day_and_night(AirNow(18, 60), AirNow(11, 80))
        >>> shed.temperatures[6:8], shed.humidities[21:23]
        ((11, 18), (60, 80))
        """
        by_day = [(hour - day_from) % 24 < (night_from - day_from) % 24 for hour in range(24)]
        hours = [day if is_day else night for is_day in by_day]
        return cls(tuple(h[0] for h in hours), tuple(h[1] for h in hours), zone)

    @property
    def is_constant(self) -> bool:
        """Whether all its hours are alike."""
        return len(set(self.temperatures)) == len(set(self.humidities)) == 1

    @property
    def figures(self) -> Numbers:
        """Two rows of 24: °C and %RH at the local whole hours."""
        return np.array([self.temperatures, self.humidities], dtype=np.float64)

    def knots(self, start: float, end: float) -> Numbers:
        """Rows of seconds since 1970, °C and %RH at the UTC whole hours from start to end."""
        hours = np.arange(np.ceil(start / HOUR), np.floor(end / HOUR) + 1) * HOUR
        if self.is_constant and hours.size > 2:
            hours = hours[[0, -1]]
        if not hours.size:
            return np.empty((3, 0))
        local = (hours + utc_offsets(self.zone, hours)) / HOUR % 24.0
        clock = np.arange(25)
        around = [np.append(values, values[0]) for values in self.figures]
        return np.array([hours, *(np.interp(local, clock, values) for values in around)])
