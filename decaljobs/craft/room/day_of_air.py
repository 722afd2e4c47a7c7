"""The air expected in one day, hour by local hour."""

from dataclasses import dataclass
from datetime import UTC, tzinfo
from typing import NamedTuple

import numpy as np

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.climate import checked_humidity, checked_temperature
from decaljobs.craft.moments import HOUR, utc_offsets

#: Local hours at which stated air by day and by night begins: common practice, no source.
DAY_FROM, NIGHT_FROM = 7, 22


class AirNow(NamedTuple):
    """Air at one moment: °C and %RH."""

    temperature: float
    humidity: float


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
