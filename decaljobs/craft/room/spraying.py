"""Spraying weather: whether a coat may go on now, why not, and when it is next likely."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from decaljobs.craft.arrays import Flags, Numbers
from decaljobs.craft.climate import (
    DAMPEST,
    FILM_FORMING_MINIMUM,
    checked_temperature,
    dew_point,
)
from decaljobs.craft.figures import cut_tenths, raised_tenths
from decaljobs.craft.moments import utc
from decaljobs.craft.room.air import Air

DEW_POINT_MARGIN = 3.0  # °C, coating practice; ISO 8502-4 covers the measurement
LOOK_AHEAD = timedelta(days=14)
LOOK_EVERY = timedelta(minutes=5)
SPELL = timedelta(hours=1)  # a coat and its clean-up, common practice, no source
DRIEST = 0.1  # %RH, keeps the dew point of bone-dry air a number


@dataclass(frozen=True)
class SprayingWeather:
    """Whether a coat may go on, the reasons against it, dew point and margin above it in °C."""

    may_spray: bool
    reasons: tuple[str, ...]
    dew_point: float
    margin: float


def spraying_weather(
    temperature: float,
    humidity: float,
    *,
    surface_temperature: float | None = None,
    film_forming_minimum: float = FILM_FORMING_MINIMUM,
) -> SprayingWeather:
    """Whether air at °C and %RH lets a coat go on a surface in °C, as warm as the air if unknown.

    The surface must be 3 °C or more above the dew point and the air at 85 %RH or less (coating
    practice); surface and air must reach the film-forming minimum. Valid from -40 to 60 °C and
    0 to 100 %RH; raises ValueError outside.

    >>> spraying_weather(20.0, 50.0).may_spray
    True
    >>> spraying_weather(20.0, 84.0).reasons
    ('the surface is 2.7 °C above the dew point, it must be 3 °C or more',)
    """
    surface = temperature if surface_temperature is None else surface_temperature
    margin = float(checked_temperature(surface) - _dew_point(temperature, humidity))
    coldest = min(temperature, surface)
    reasons = []
    if coldest < film_forming_minimum:
        what = "air" if temperature <= surface else "surface"
        reasons.append(
            f"the {what} is at {cut_tenths(coldest)} °C, under the film-forming minimum of "
            f"{film_forming_minimum:g} °C"
        )
    if humidity > DAMPEST:
        damp = raised_tenths(humidity)
        reasons.append(f"the air is at {damp} %RH, it must be {DAMPEST:g} %RH or less")
    if margin < DEW_POINT_MARGIN:
        reasons.append(
            f"the surface is {_above(margin)} the dew point, "
            f"it must be {DEW_POINT_MARGIN:g} °C or more"
        )
    dew = float(_dew_point(temperature, humidity))
    return SprayingWeather(not reasons, tuple(reasons), dew, margin)


def _above(margin: float) -> str:
    if margin < 0:
        return f"{raised_tenths(-margin)} °C below"
    return f"{cut_tenths(margin)} °C above"


def _dew_point(temperature: float | Numbers, humidity: float | Numbers) -> Numbers:
    return dew_point(temperature, np.maximum(humidity, DRIEST))


def next_spraying(
    air: Air,
    moment: datetime,
    *,
    surface_above_air: float = 0.0,
    film_forming_minimum: float = FILM_FORMING_MINIMUM,
) -> datetime | None:
    """The first moment (UTC) from an aware one on when spraying weather holds for an hour.

    Looked for every 5 minutes over 14 days of the room's air, read or expected, with the
    surface so many °C above (below: negative) the air. None if there is no such hour. Raises
    ValueError for a naive moment.

    >>> from datetime import UTC
    >>> noon = datetime(2026, 1, 1, 12, tzinfo=UTC)
    >>> next_spraying(Air.steady(20, 50), noon) == noon, next_spraying(Air.steady(8, 50), noon)
    (True, None)
    """
    start = utc(moment)
    count = LOOK_AHEAD // LOOK_EVERY
    steps = np.arange(count, dtype=np.float64)
    seconds = start.timestamp() + steps * LOOK_EVERY.total_seconds()
    temperature, humidity = air.along(seconds)
    good = _is_good(temperature, humidity, surface_above_air, film_forming_minimum)
    needed = SPELL // LOOK_EVERY + 1
    spells = np.lib.stride_tricks.sliding_window_view(good, needed).all(axis=1)
    first = np.flatnonzero(spells)
    return start + int(first[0]) * LOOK_EVERY if first.size else None


def _is_good(
    temperature: Numbers, humidity: Numbers, surface_above_air: float, film_forming_minimum: float
) -> Flags:
    surface = temperature + surface_above_air
    warm = np.minimum(temperature, surface) >= film_forming_minimum
    clear = surface - _dew_point(temperature, humidity) >= DEW_POINT_MARGIN
    good: Flags = warm & clear & (humidity <= DAMPEST)
    return good
