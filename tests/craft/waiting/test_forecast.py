from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from decaljobs.craft.climate import Clock, drying_rate
from decaljobs.craft.drying import WaitTerms, ready_at, reference_hours
from decaljobs.craft.room.air import Air
from decaljobs.craft.room.day_of_air import DayOfAir
from decaljobs.craft.room.expected_air import room_air
from decaljobs.craft.waiting.forecast import day_counts, forecast, forecast_many

START = datetime(2026, 2, 2, tzinfo=UTC)
HOUR = timedelta(hours=1)
WATER = WaitTerms(24, 0, Clock.WATER)
STATED = DayOfAir.constant(18, 55)


def read_days(temperatures, humidity=50.0) -> Air:
    """A room read every half hour, each day at one temperature."""
    hours = np.arange(0, 24 * len(temperatures), 0.5)
    seconds = START.timestamp() + hours * 3600.0
    warmth = np.repeat(np.asarray(temperatures, dtype=float), 48)
    return room_air(seconds, warmth, 0 * hours + humidity, stated=STATED, zone=UTC)


def test_it_ranges_over_the_tenth_and_ninetieth_percentile_day():
    air = Air.steady(18, 50).followed_by(DayOfAir.constant(18, 50))
    days = tuple(DayOfAir.constant(t, 50) for t in [12, 14, 15, 16, 17, 18, 19, 20, 21, 22, 24])
    air = Air(air.knots, air.before, air.after, (), days)
    seen = forecast(WATER, air, START)
    hours = [(moment - START) / HOUR for moment in (seen.early, seen.ready, seen.late)]
    # Of eleven days the 10th percentile is the second slowest, 14 °C; the 90th 22 °C.
    wanted = [24 / float(drying_rate(Clock.WATER, t, 50)) for t in (22, 18, 14)]
    assert hours == pytest.approx(wanted, rel=1e-6)
    assert seen.has_range


def test_it_has_no_range_from_fewer_than_five_days():
    seen = forecast(WATER, read_days([15, 16, 17, 18]), START + timedelta(days=4))
    assert not seen.has_range
    assert seen.early == seen.ready == seen.late


def test_it_has_no_width_where_the_air_was_read_to_the_end():
    air = read_days([15, 20, 17, 18, 16, 14, 21, 18])
    seen = forecast(WATER, air, START)
    assert seen.has_range
    assert seen.early == seen.ready == seen.late == ready_at(WATER, air, START)


def test_it_widens_beyond_the_readings():
    air = read_days([15, 20, 17, 18, 16, 14, 21, 18])
    seen = forecast(WATER, air, START + timedelta(days=7, hours=20))
    assert seen.early < seen.ready < seen.late


def test_it_says_when_slow_days_never_dry():
    air = read_days([5, 6, 5, 20, 20, 20, 21, 20, 20, 20])
    seen = forecast(WATER, air, START + timedelta(days=10))
    assert seen.ready is not None
    assert seen.late is None
    assert seen.early <= seen.ready


@pytest.mark.parametrize("days", [[18, 12, 16, 20, 17, 21], [18, 12]], ids=["range", "no range"])
def test_it_answers_many_waits_as_it_answers_one(days):
    starts = [START + timedelta(days=4, hours=7 * n) for n in range(9)]
    extra = [0.5 * n for n in range(9)]
    many = forecast_many(WATER, read_days(days), starts, extra_reference_hours=extra)
    for start, more, seen in zip(starts, extra, many, strict=True):
        one = forecast(WATER, read_days(days), start, extra_reference_hours=more)
        assert seen.has_range == one.has_range == (len(days) > 4)
        for name in ("early", "ready", "late"):
            assert abs(getattr(seen, name) - getattr(one, name)) < timedelta(seconds=1), name


def test_it_adds_the_hours_of_touch_tests():
    air = read_days([18] * 8)
    start = START + timedelta(days=9)
    plain, more = (forecast(WATER, air, start, extra_reference_hours=extra) for extra in (0.0, 6.0))
    assert more.ready > plain.ready
    assert more.late > plain.late


def test_it_counts_a_day_as_the_clock_does():
    swing = DayOfAir(tuple(np.linspace(8, 22, 24)), (60,) * 24)
    air = Air.steady(20, 50).followed_by(swing)
    start = START + timedelta(days=3)
    two_days = reference_hours(WATER, air, start, start + 48 * HOUR)
    # Midpoints of six minutes against the exact integral.
    assert 2 * day_counts(WATER, swing) == pytest.approx(two_days, rel=0.003)
