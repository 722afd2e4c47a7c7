"""How far a layer has dried and when it will be ready: the room's air put through its clock."""

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from decaljobs.craft.climate import (
    FILM_FORMING_MINIMUM,
    REFERENCE_HUMIDITY,
    REFERENCE_TEMPERATURE,
    Clock,
    drying_rate,
    is_too_cold,
    is_too_damp,
)
from decaljobs.craft.moments import utc
from decaljobs.craft.room.air import Air
from decaljobs.craft.waiting.clock import DryingClock

STANDARD_AIR = Air.steady(REFERENCE_TEMPERATURE, REFERENCE_HUMIDITY)
LONGEST = 2000.0  # hours a rule may ask for
MOST_EXTRA = 10 * LONGEST  # reference hours that touch tests may add to them
RANGES = {
    "reference_hours": (0.01, LONGEST, "h"),
    "floor_hours": (0.0, LONGEST, "h"),
    "reference_temperature": (0.0, 40.0, "°C"),
    "reference_humidity": (0.0, 95.0, "%RH"),
    "film_forming_minimum": (-20.0, 40.0, "°C"),
}


@dataclass(frozen=True)
class WaitTerms:
    """What a wait asks for: hours in the reference climate, a floor in hours, and the clock.

    The reference climate is in °C and %RH, the film-forming minimum in °C. Raises ValueError for
    a figure outside its range (see RANGES) or not finite.

    >>> WaitTerms(12.0, 8.0, Clock.WATER).reference_humidity
    50.0
    >>> WaitTerms(0.0, 8.0, Clock.WATER)
    Traceback (most recent call last):
    ValueError: reference hours must be 0.01 to 2000 h
    """

    reference_hours: float
    floor_hours: float
    clock: Clock
    reference_temperature: float = REFERENCE_TEMPERATURE
    reference_humidity: float = REFERENCE_HUMIDITY
    film_forming_minimum: float = FILM_FORMING_MINIMUM

    def __post_init__(self) -> None:
        try:
            object.__setattr__(self, "clock", Clock(self.clock))
        except ValueError:
            names = ", ".join(Clock)
            raise ValueError(f"the clock must be one of {names}") from None
        for name, (low, high, unit) in RANGES.items():
            value = float(getattr(self, name))
            if not low <= value <= high:
                said = name.replace("_", " ")
                raise ValueError(f"{said} must be {low:g} to {high:g} {unit}")
            object.__setattr__(self, name, value)

    @property
    def reference(self) -> dict[str, float]:
        """Reference temperature in °C and humidity in %RH, as `unheld_rate` asks."""
        return {
            "reference_temperature": self.reference_temperature,
            "reference_humidity": self.reference_humidity,
        }

    @property
    def climate(self) -> dict[str, float]:
        """The reference and the film-forming minimum in °C, as `drying_rate` asks."""
        return {**self.reference, "film_forming_minimum": self.film_forming_minimum}

    @property
    def clock_key(self) -> tuple[Clock, float, float, float]:
        """What two waits must share to be counted by one running integral."""
        return (
            self.clock,
            self.reference_temperature,
            self.reference_humidity,
            self.film_forming_minimum,
        )

    def to_dict(self) -> dict[str, Any]:
        """The terms as plain values for JSON."""
        return asdict(self) | {"clock": self.clock.value}

    @classmethod
    def from_dict(cls, values: dict[str, Any]) -> "WaitTerms":
        """The terms kept by `to_dict`.

        >>> terms = WaitTerms(24.0, 4.0, Clock.SOLVENT)
        >>> WaitTerms.from_dict(terms.to_dict()) == terms
        True
        """
        return cls(**values)


@dataclass(frozen=True)
class Progress:
    """How far a wait is: reference hours done and asked, share 0 to 1, and the rate now.

    `halt` says why the clock stands now: 'too cold', 'too damp' or None.
    """

    done_hours: float
    of_hours: float
    fraction: float
    rate_now: float
    halt: str | None


def clock_of(terms: WaitTerms, air: Air) -> DryingClock:
    """The running integral of one air by the terms' clock, made once and kept with the air.

    >>> clock_of(WaitTerms(12, 8, Clock.WATER), STANDARD_AIR) is clock_of(
    ...     WaitTerms(24, 12, Clock.WATER), STANDARD_AIR)
    True
    """
    key = terms.clock_key
    kept: DryingClock = air.clocks.setdefault(key, DryingClock(air, *key))
    return kept


def reference_hours(terms: WaitTerms, air: Air, start: datetime, end: datetime) -> float:
    """Reference hours that the clock counts from start to end, both aware.

    Raises ValueError for a naive moment or an end before the start.

    >>> from datetime import UTC
    >>> start = datetime(2026, 1, 1, tzinfo=UTC)
    >>> terms = WaitTerms(12, 8, Clock.WATER)
    >>> reference_hours(terms, STANDARD_AIR, start, start + timedelta(hours=5))
    5.0
    """
    start, end = utc(start), utc(end)
    if end < start:
        raise ValueError("the end must not lie before the start")
    before, after = clock_of(terms, air).hours_until([start, end])
    return float(after - before)


def ready_at_many(
    terms: WaitTerms,
    air: Air,
    starts: Sequence[datetime],
    *,
    extra_reference_hours: ArrayLike = 0.0,
) -> list[datetime | None]:
    """Moments (UTC) at which waits begun at aware `starts` are over; None: not in 366 days.

    `extra_reference_hours` (0 to 20,000) is one figure or one for each start. Raises ValueError
    for naive starts or extra hours outside the range.

    >>> from datetime import UTC
    >>> noon = datetime(2026, 1, 1, 12, tzinfo=UTC)
    >>> terms = WaitTerms(12, 8, Clock.WATER)
    >>> over = ready_at_many(terms, STANDARD_AIR, [noon, noon], extra_reference_hours=[0, 3])
    >>> [(moment - noon) / timedelta(hours=1) for moment in over]
    [12.0, 15.0]
    """
    starts = [utc(start) for start in starts]
    extra = np.asarray(extra_reference_hours, dtype=np.float64)
    if not np.all((extra >= 0) & (extra <= MOST_EXTRA)):
        raise ValueError(f"extra reference hours must be 0 to {MOST_EXTRA:g} h")
    if not starts:
        return []
    over = clock_of(terms, air).moments_after(starts, terms.reference_hours + extra)
    floor = timedelta(hours=terms.floor_hours)
    return [
        max(moment, start + floor) if moment else None
        for start, moment in zip(starts, over, strict=True)
    ]


def ready_at(
    terms: WaitTerms, air: Air, start: datetime, *, extra_reference_hours: float = 0.0
) -> datetime | None:
    """The moment (UTC) at which a wait begun at `start` is over; None: not within 366 days.

    Over when the clock has counted the reference hours and the floor has passed. Raises
    ValueError for a naive start or extra hours outside 0 to 20,000.

    >>> from datetime import UTC
    >>> start = datetime(2026, 1, 1, tzinfo=UTC)
    >>> ready_at(WaitTerms(12, 8, Clock.WATER), STANDARD_AIR, start).isoformat()
    '2026-01-01T12:00:00+00:00'
    """
    (moment,) = ready_at_many(terms, air, [start], extra_reference_hours=extra_reference_hours)
    return moment


def progress(
    terms: WaitTerms,
    air: Air,
    start: datetime,
    moment: datetime,
    *,
    extra_reference_hours: float = 0.0,
) -> Progress:
    """How far a wait begun at `start` is at `moment`, both aware; before the start nothing.

    Hours are reference hours. The fraction is the smaller of the clock's and the floor's share
    and reaches 1 at the ready moment, never before. Raises ValueError as `ready_at`.

    >>> from datetime import UTC
    >>> start = datetime(2026, 1, 1, tzinfo=UTC)
    >>> shed, terms = Air.steady(10, 50), WaitTerms(12, 8, Clock.WATER)
    >>> far = progress(terms, shed, start, start + timedelta(hours=6))
    >>> far.done_hours, far.of_hours, far.fraction, far.rate_now
    (3.0, 12.0, 0.25, 0.5)
    """
    start, moment = utc(start), utc(moment)
    ready = ready_at(terms, air, start, extra_reference_hours=extra_reference_hours)
    done = reference_hours(terms, air, start, max(start, moment))
    of_hours = terms.reference_hours + extra_reference_hours
    over = ready is not None and moment >= ready
    fraction = 1.0 if over else share_over(terms, done, of_hours, moment - start)
    return Progress(done, of_hours, fraction, rate_at(terms, air, moment), halt(terms, air, moment))


def share_over(terms: WaitTerms, done: float, of_hours: float, since: timedelta) -> float:
    """Share of a wait that is over, 0 to just under 1: the clock's or the floor's, the smaller.

    done, of_hours: reference hours counted and asked; since: the time it runs, below 0 before it.

    >>> terms = WaitTerms(12, 8, Clock.WATER)
    >>> share_over(terms, 6.0, 12.0, timedelta(hours=7))
    0.5
    >>> share_over(terms, 12.0, 12.0, timedelta(hours=6))
    0.75
    """
    elapsed = max(since / timedelta(hours=1), 0.0)
    share = min(done / of_hours, elapsed / terms.floor_hours if terms.floor_hours else 1.0)
    return min(share, math.nextafter(1.0, 0.0))


def rate_at(terms: WaitTerms, air: Air, moment: datetime) -> float:
    """Reference hours that an hour counts at an aware moment.

    >>> from datetime import UTC
    >>> noon = datetime(2026, 1, 1, 12, tzinfo=UTC)
    >>> rate_at(WaitTerms(12, 8, Clock.SOLVENT), Air.steady(30, 50), noon)
    2.0
    """
    return float(drying_rate(terms.clock, *air.at(moment), **terms.climate))


def halt(terms: WaitTerms, air: Air, moment: datetime) -> str | None:
    """Why the clock stands at an aware moment: 'too cold', 'too damp' or None.

    >>> from datetime import UTC
    >>> halt(WaitTerms(1, 0, Clock.WATER), Air.steady(5, 50), datetime(2026, 1, 1, tzinfo=UTC))
    'too cold'
    """
    temperature, humidity = air.at(moment)
    if is_too_cold(terms.clock, temperature, terms.film_forming_minimum):
        return "too cold"
    return "too damp" if is_too_damp(terms.clock, humidity) else None
