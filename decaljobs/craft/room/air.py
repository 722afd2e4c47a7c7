"""The air of one room over time: readings joined by straight lines, and what lies beyond."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.climate import checked_humidity, checked_temperature
from decaljobs.craft.moments import HOUR, from_seconds, utc
from decaljobs.craft.room.day_of_air import AirNow, DayOfAir


@dataclass(frozen=True, eq=False)
class Air:
    """The air of one room: rows of seconds since 1970 UTC, °C and %RH, linear in between.

    `knots` is 3 × n in order of time; two knots at one moment are a sudden change. Before the
    first and after the last knot the air passes within two hours to the `before` and `after`
    days. `filled` lists the stretches that were not read but expected; `days` are the measured
    days that a forecast's range is drawn from. Raises ValueError for knots of another shape or out
    of order, and outside -40 to 60 °C or 0 to 100 %RH.
    """

    knots: Numbers
    before: DayOfAir
    after: DayOfAir
    filled: tuple[tuple[datetime, datetime], ...] = ()
    days: tuple[DayOfAir, ...] = ()
    clocks: dict[object, Any] = field(default_factory=dict, repr=False)

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

        >>> from datetime import UTC
        >>> Air.steady(20, 50).at(datetime(2026, 1, 1, tzinfo=UTC))
        AirNow(temperature=20.0, humidity=50.0)
        """
        day = DayOfAir.constant(temperature, humidity)
        return cls(np.empty((3, 0)), day, day)

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

        >>> from datetime import UTC, timedelta
        >>> noon = datetime(2026, 1, 1, 12, tzinfo=UTC)
        >>> air = Air.from_arrays(noon.timestamp() + np.array([0, 7200]), [18, 20], [50, 60])
        >>> air.at(noon + timedelta(hours=1))
        AirNow(temperature=19.0, humidity=55.0)
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
        temperature, humidity = self.along(np.array([utc(moment).timestamp()]))
        return AirNow(float(temperature[0]), float(humidity[0]))

    def along(self, seconds: Numbers) -> Numbers:
        """Two rows, °C and %RH, at n rising moments in seconds since 1970.

        >>> Air.steady(20, 50).along(np.array([0.0, 60.0])).tolist()
        [[20.0, 20.0], [50.0, 50.0]]
        """
        knots = self.window(seconds[0], seconds[-1])
        right = np.searchsorted(knots[0], seconds, "right")
        after = knots[:, np.minimum(right, knots.shape[1] - 1)]
        before = knots[:, right - 1]
        spans = after[0] - before[0]
        share = np.divide(seconds - before[0], spans, out=np.zeros_like(spans), where=spans > 0)
        values: Numbers = before[1:] + share * (after - before)[1:]
        return values

    def followed_by(self, day: DayOfAir) -> "Air":
        """The same air with another day expected after its last knot."""
        return replace(self, after=day, clocks={})

    @property
    def first_reading(self) -> datetime | None:
        """The UTC moment of the first knot; None for air that was never read."""
        return from_seconds(self.knots[0, 0]) if self.knots.size else None

    @property
    def last_reading(self) -> datetime | None:
        """The UTC moment of the last knot; None for air that was never read."""
        return from_seconds(self.knots[0, -1]) if self.knots.size else None


def moved_air(stays: Sequence[tuple[datetime, Air]]) -> Air:
    """The air met by a layer that dries in several rooms: (aware moment moved in, its air).

    Raises ValueError when empty or not in order of time. The first room also holds before its
    own moment, the last for ever.

    >>> from datetime import UTC
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
    return Air(np.hstack(parts), airs[0].before, airs[-1].after, filled, airs[-1].days)


def _between(air: Air, start: float, end: float) -> Numbers:
    inner = air.window(start, end)
    inner = inner[:, (inner[0] > start) & (inner[0] < end)]
    ends = [np.array([[s], *([v] for v in air.at(from_seconds(s)))]) for s in (start, end)]
    return np.hstack([ends[0], inner, ends[1]])


def _from(air: Air, start: float) -> Numbers:
    last = air.knots[0, -1] if air.knots.size else start
    return _between(air, start, max(last, start + 2 * HOUR))
