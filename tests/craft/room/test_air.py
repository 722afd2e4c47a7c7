from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from decaljobs.craft.room.air import Air, moved_air
from decaljobs.craft.room.day_of_air import DayOfAir
from tests.craft.airs import air_through

NOON = datetime(2026, 2, 3, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)


def test_it_runs_straight_between_readings_in_any_order():
    air = air_through([(NOON + 4 * HOUR, 24, 40), (NOON, 20, 60)])
    assert air.at(NOON + HOUR) == pytest.approx((21, 55))
    assert air.at(NOON + 4 * HOUR) == pytest.approx((24, 40))


def test_it_holds_the_first_and_last_reading_when_nothing_is_expected():
    air = air_through([(NOON, 20, 60), (NOON + HOUR, 18, 55)])
    assert air.at(NOON - 100 * HOUR) == pytest.approx((20, 60))
    assert air.at(NOON + 1000 * HOUR) == pytest.approx((18, 55))


def test_it_passes_to_the_expected_air_within_two_hours():
    last = NOON + HOUR / 2
    air = air_through([(NOON, 20, 60), (last, 20, 60)], after=DayOfAir.constant(14, 70))
    assert air.at(last + HOUR / 4).temperature > 14.5
    assert air.at(last + 2 * HOUR) == pytest.approx((14, 70))


def test_it_drops_a_repeat_and_refuses_a_contradiction():
    same = air_through([(NOON, 20, 60), (NOON, 20, 60), (NOON + HOUR, 21, 60)])
    assert same.knots.shape == (3, 2)
    with pytest.raises(ValueError, match="two different readings at 2026-02-03T12:00:00"):
        air_through([(NOON, 20, 60), (NOON, 21, 60)])


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        ((-300, 50), "temperature must be -40 to 60 °C"),
        ((20, 140), "humidity must be 0 to 100 %RH"),
        ((float("nan"), 50), "temperature must be"),
    ],
)
def test_it_refuses_readings_out_of_range(reading, said):
    with pytest.raises(ValueError, match=said):
        air_through([(NOON, *reading)])


def test_it_refuses_no_readings_and_knots_out_of_order():
    with pytest.raises(ValueError, match="at least one reading"):
        air_through([])
    day = DayOfAir.constant(20, 50)
    with pytest.raises(ValueError, match="in order of time"):
        Air(np.array([[1.0, 0.0], [20, 20], [50, 50]]), day, day)
    with pytest.raises(ValueError, match="3 rows"):
        Air(np.array([[1.0, 0.0]]), day, day)


def test_it_knows_its_first_and_last_reading():
    air = air_through([(NOON, 20, 60), (NOON + HOUR, 18, 55)])
    assert (air.first_reading, air.last_reading) == (NOON, NOON + HOUR)
    assert Air.steady(20, 50).last_reading is None


def test_it_changes_at_the_moment_of_a_move():
    shed = air_through([(NOON, 8, 80), (NOON + 10 * HOUR, 18, 60)])
    air = moved_air([(NOON, Air.steady(20, 50)), (NOON + 5 * HOUR, shed)])
    assert air.at(NOON + 5 * HOUR - timedelta(seconds=1)) == pytest.approx((20, 50))
    assert air.at(NOON + 5 * HOUR) == pytest.approx((13, 70))
    assert air.at(NOON + 10 * HOUR) == pytest.approx((18, 60))
    assert air.at(NOON + 500 * HOUR) == pytest.approx((18, 60))


def test_it_comes_back_to_the_first_room():
    shop = air_through([(NOON + i * HOUR, 15 + i, 50) for i in range(21)])
    stays = [(NOON, shop), (NOON + 4 * HOUR, Air.steady(30, 30)), (NOON + 8 * HOUR, shop)]
    air = moved_air(stays)
    assert [air.at(NOON + h * HOUR).temperature for h in (2, 6, 8, 9.5)] == pytest.approx(
        [17, 30, 23, 24.5]
    )


def test_it_moves_between_rooms_beyond_their_readings():
    hourly = DayOfAir(tuple(range(10, 34)), (50,) * 24)
    read = air_through([(NOON, 20, 60)], after=hourly)
    air = moved_air([(NOON, read), (NOON + 30 * HOUR, Air.steady(5, 50))])
    # 12:00 on the next day: the expected hour 12 is 22 °C.
    assert air.at(NOON + 24 * HOUR).temperature == pytest.approx(22)
    assert air.at(NOON + 31 * HOUR).temperature == 5


def test_it_refuses_moves_out_of_order_or_none():
    shop = Air.steady(20, 50)
    with pytest.raises(ValueError, match="order of time"):
        moved_air([(NOON, shop), (NOON - HOUR, shop)])
    with pytest.raises(ValueError, match="at least one room"):
        moved_air([])
