"""The running integral of a drying rate over a room's air: one table serves every wait."""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.climate import (
    DAMPEST,
    FASTEST,
    WATER_CLOCKS,
    Clock,
    is_too_cold,
    is_too_damp,
    temperature_drive,
    unheld_rate,
    vapour_drive,
)
from decaljobs.craft.moments import HOUR
from decaljobs.craft.room.air import Air

HORIZON = timedelta(days=366)  # a wait not over by then is not drying
MARGIN = timedelta(days=31)  # a table reaches so much further than asked, to be asked again
# Steps so short that a straight line of the rate errs by less than 0.01 %.
STEP_TEMPERATURE = 0.25  # °C
STEP_HUMIDITY = 1.0  # %RH
STEPS_A_MINUTE = 8.0  # keeps a table of wild readings finite


class DryingClock:
    """Reference hours counted by one clock in one air, and the moments at which they are reached.

    >>> from datetime import UTC
    >>> clock = DryingClock(Air.steady(15, 70), Clock.FIXED, 20, 50, 10)
    >>> start = datetime(2026, 1, 1, tzinfo=UTC)
    >>> clock.moments_after([start], 2.0)[0].isoformat()
    '2026-01-01T02:00:00+00:00'
    """

    def __init__(
        self,
        air: Air,
        clock: Clock,
        reference_temperature: float,
        reference_humidity: float,
        film_forming_minimum: float,
    ) -> None:
        self.air = air
        self.clock = clock
        self.reference = {
            "reference_temperature": reference_temperature,
            "reference_humidity": reference_humidity,
        }
        self.film_forming_minimum = film_forming_minimum
        self.table: RateTable | None = None

    def hours_until(self, moments: Sequence[datetime]) -> Numbers:
        """Reference hours from one fixed early moment until each of the UTC moments."""
        return self._covering(min(moments), max(moments)).hours_until(moments)

    def moments_after(
        self, starts: Sequence[datetime], hours: float | Numbers
    ) -> list[datetime | None]:
        """UTC moments at which `hours` are counted since the UTC `starts`; None beyond 366 days."""
        table = self._covering(min(starts), max(starts) + HORIZON)
        moments = table.moments_at(table.hours_until(starts) + hours)
        return [
            moment if moment and moment - start <= HORIZON else None
            for start, moment in zip(starts, moments, strict=True)
        ]

    def _covering(self, start: datetime, end: datetime) -> "RateTable":
        table = self.table
        if table is None or start < table.start or end > table.end:
            if table is not None:
                start, end = min(start, table.start), max(end, table.end)
            table = self._table(start - MARGIN, end + MARGIN)
            self.table = table
        return table

    def _table(self, start: datetime, end: datetime) -> "RateTable":
        origin = start.replace(microsecond=0)
        knots = self.air.window(origin.timestamp(), end.timestamp())
        knots = knots - np.array([[origin.timestamp()], [0.0], [0.0]])
        left, right = self._kinks_split(*_steps(knots))
        middle = (left + right) / 2.0
        still = is_too_cold(self.clock, middle[1], self.film_forming_minimum)
        still |= is_too_damp(self.clock, middle[2])
        rates = [
            np.where(still, 0.0, unheld_rate(self.clock, side[1], side[2], **self.reference))
            for side in (left, right)
        ]
        return RateTable(origin, end, left[0], right[0], *rates)

    def _kinks_split(self, left: Numbers, right: Numbers) -> tuple[Numbers, Numbers]:
        if self.clock is Clock.FIXED:
            return left, right
        warmth = {"reference_temperature": self.reference["reference_temperature"]}
        fastest = FASTEST[self.clock]
        kinks: list[Callable[[Numbers, Numbers, Numbers], Numbers]] = [
            lambda _, t, h: t - self.film_forming_minimum,
            lambda _, t, h: temperature_drive(t, **warmth) - fastest,
        ]
        if self.clock in WATER_CLOCKS:
            kinks += [
                lambda _, t, h: h - DAMPEST,
                lambda _, t, h: vapour_drive(t, h, **self.reference) - fastest,
                lambda _, t, h: (
                    vapour_drive(t, h, **self.reference) - temperature_drive(t, **warmth)
                ),
            ]
        for kink in kinks:
            left, right = _split(left, right, kink(*left), kink(*right))
        return left, right


def _steps(knots: Numbers) -> tuple[Numbers, Numbers]:
    """Left and right ends (3 × n each) of short steps along straight lines between knots."""
    spans = np.diff(knots, axis=1)
    real = spans[0] > 0
    left, spans = knots[:, :-1][:, real], spans[:, real]
    wanted = np.maximum(np.abs(spans[1]) / STEP_TEMPERATURE, np.abs(spans[2]) / STEP_HUMIDITY)
    allowed = np.ceil(spans[0] / 60.0 * STEPS_A_MINUTE)
    counts = np.maximum(np.minimum(np.ceil(wanted), allowed), 1).astype(np.int64)
    firsts = np.cumsum(counts) - counts
    share = (np.arange(counts.sum()) - np.repeat(firsts, counts)) / np.repeat(counts, counts)
    starts = np.repeat(left, counts, axis=1) + share * np.repeat(spans, counts, axis=1)
    ends = np.roll(starts, -1, axis=1)
    ends[:, firsts + counts - 1] = left + spans
    return starts, ends


def _split(
    left: Numbers, right: Numbers, at_left: Numbers, at_right: Numbers
) -> tuple[Numbers, Numbers]:
    """The steps, cut in two wherever a kink's measure changes sign inside one."""
    where: NDArray[np.int64] = np.flatnonzero(at_left * at_right < 0)
    if not where.size:
        return left, right
    share = at_left[where] / (at_left[where] - at_right[where])
    cuts = left[:, where] + share * (right[:, where] - left[:, where])
    return np.insert(left, where + 1, cuts, axis=1), np.insert(right, where, cuts, axis=1)


class RateTable:
    """A rate that runs straight within each step, and its integral: seconds since `start`."""

    def __init__(
        self,
        start: datetime,
        end: datetime,
        begins: Numbers,
        ends: Numbers,
        rate_at_begin: Numbers,
        rate_at_end: Numbers,
    ) -> None:
        self.start, self.end = start, end
        self.begins, self.rate = begins, rate_at_begin
        spans = np.maximum(ends - begins, 1e-9)
        self.slope = (rate_at_end - rate_at_begin) / spans
        counted = (ends - begins) * (rate_at_begin + rate_at_end) / 2.0 / HOUR
        self.hours = np.concatenate([[0.0], np.cumsum(counted)])

    def hours_until(self, moments: Sequence[datetime]) -> Numbers:
        """Reference hours from the table's first step until each UTC moment inside it."""
        second = timedelta(seconds=1)
        seconds = np.array([(moment - self.start) / second for moment in moments])
        step = np.searchsorted(self.begins, seconds, "right") - 1
        since = seconds - self.begins[step]
        return self.hours[step] + since * (self.rate[step] + self.slope[step] * since / 2.0) / HOUR

    def moments_at(self, hours: Numbers) -> list[datetime | None]:
        """The first UTC moments at which the integral reaches `hours`; None beyond the table."""
        step = np.searchsorted(self.hours, hours, "left") - 1
        inside = step < self.begins.size
        step = np.clip(step, 0, self.begins.size - 1)
        left = np.maximum(hours - self.hours[step], 0.0) * HOUR
        rate, slope = self.rate[step], self.slope[step]
        # The root of a quadratic in the form that loses no digits when the slope is near zero.
        root = rate + np.sqrt(np.maximum(rate**2 + 2.0 * slope * left, 0.0))
        since = np.divide(2.0 * left, root, out=np.zeros_like(left), where=root > 0)
        seconds = self.begins[step] + since
        return [
            self.start + timedelta(seconds=float(s)) if ok else None
            for s, ok in zip(seconds, inside, strict=True)
        ]
