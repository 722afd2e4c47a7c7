from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from decaljobs.craft.climate import Clock
from decaljobs.craft.drying import WaitTerms, rate_at
from decaljobs.craft.room.air import Air
from decaljobs.craft.room.day_of_air import DayOfAir
from decaljobs.craft.room.expected_air import room_air
from decaljobs.craft.waiting.chart import air_series
from tests.craft.airs import air_through

NOON = datetime(2026, 2, 3, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)
WATER = WaitTerms(12, 8, Clock.WATER)


def test_it_shows_the_same_air_and_rate_as_the_wait_itself():
    rows = [(0, 21, 50), (8, 14, 68), (12, 20, 52)]
    air = air_through([(NOON + h * HOUR, t, rh) for h, t, rh in rows])
    series = air_series(WATER, air, NOON, NOON + 12 * HOUR, HOUR / 2)
    assert len(series.moments) == 25
    for i in (0, 7, 16, 24):
        moment = series.moments[i]
        assert (series.temperature[i], series.humidity[i]) == pytest.approx(air.at(moment))
        assert series.rate[i] == pytest.approx(rate_at(WATER, air, moment))


def test_it_shades_where_drying_stood_still():
    rows = [(0, 20, 50), (2, 20, 50), (3, 9, 50), (6, 9, 50), (7, 20, 50), (9, 20, 90)]
    air = air_through([(NOON + h * HOUR, t, rh) for h, t, rh in rows])
    series = air_series(WATER, air, NOON, NOON + 9 * HOUR, HOUR)
    assert series.standing == (
        (NOON + 3 * HOUR, NOON + 6 * HOUR),
        (NOON + 9 * HOUR, NOON + 9 * HOUR),
    )


def test_it_marks_air_that_was_not_read():
    hours = np.array([0.0, 1, 2, 12, 13])
    air = room_air(
        NOON.timestamp() + hours * 3600,
        hours * 0 + 18,
        hours * 0 + 50,
        stated=DayOfAir.constant(15, 60),
        zone=UTC,
    )
    series = air_series(WATER, air, NOON - HOUR, NOON + 14 * HOUR, HOUR)
    marked = [i - 1 for i, expected in enumerate(series.expected) if expected]
    assert marked == [-1, *range(3, 12), 14]
    assert air_series(WATER, Air.steady(20, 50), NOON, NOON + HOUR, HOUR).expected.all()


@pytest.mark.parametrize(
    ("end", "step", "said"),
    [(NOON, HOUR, "end must lie after"), (NOON + HOUR, HOUR / 120, "1 minute or more")],
)
def test_it_refuses_a_span_it_cannot_draw(end, step, said):
    with pytest.raises(ValueError, match=said):
        air_series(WATER, Air.steady(20, 50), NOON, end, step)
