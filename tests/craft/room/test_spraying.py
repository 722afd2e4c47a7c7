from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from decaljobs.craft.room.air import Air
from decaljobs.craft.room.day_of_air import DayOfAir
from decaljobs.craft.room.spraying import next_spraying, spraying_weather
from tests.craft.airs import air_through

NOON = datetime(2026, 2, 3, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)


def test_it_allows_spraying_in_a_warm_dry_room():
    weather = spraying_weather(20, 50)
    assert weather.may_spray
    assert weather.reasons == ()
    # psychrolib's dew point of 20 °C and 50 %RH is 9.27 °C.
    assert weather.dew_point == pytest.approx(9.27, abs=0.02)
    assert weather.margin == pytest.approx(10.73, abs=0.02)


@pytest.mark.parametrize(
    ("air", "extra", "said"),
    [
        ((8.2, 40), {}, "the air is at 8.2 °C, under the film-forming minimum of 10 °C"),
        ((9.97, 40), {}, "the air is at 9.9 °C, under the film-forming minimum of 10 °C"),
        ((20, 85.04), {}, "the air is at 85.1 %RH, it must be 85 %RH or less"),
        ((20, 86), {}, "the air is at 86 %RH, it must be 85 %RH or less"),
        ((20, 50), {"surface_temperature": 12}, "the surface is 2.7 °C above the dew point"),
        ((20, 50), {"surface_temperature": 8}, "the surface is 1.3 °C below the dew point"),
        ((20, 50), {"surface_temperature": 9.9}, "the surface is at 9.9 °C, under"),
        ((14, 50), {"film_forming_minimum": 15}, "film-forming minimum of 15 °C"),
    ],
)
def test_it_says_why_not(air, extra, said):
    weather = spraying_weather(*air, **extra)
    assert not weather.may_spray
    assert any(said in reason for reason in weather.reasons)


def test_it_needs_three_degrees_over_the_dew_point_and_no_more():
    dew = spraying_weather(20, 50).dew_point
    assert spraying_weather(20, 50, surface_temperature=dew + 3.001).may_spray
    assert not spraying_weather(20, 50, surface_temperature=dew + 2.999).may_spray


def test_it_never_rounds_a_refused_margin_up_to_enough():
    dew = spraying_weather(20, 50).dew_point
    (reason,) = spraying_weather(20, 50, surface_temperature=dew + 2.99).reasons
    assert "2.9 °C above" in reason


def test_it_gives_every_reason_at_once():
    assert len(spraying_weather(8, 95).reasons) == 3


def test_it_takes_bone_dry_air():
    assert spraying_weather(20, 0).may_spray


@pytest.mark.parametrize("air", [(-300, 50), (20, 140), (float("nan"), 50)])
def test_it_refuses_air_out_of_range(air):
    with pytest.raises(ValueError, match="must be"):
        spraying_weather(*air)


def test_it_finds_the_next_hour_of_spraying_weather():
    shed = DayOfAir(tuple([8.0] * 9 + [16.0] * 9 + [8.0] * 6), (60.0,) * 24)
    air = Air(np.empty((3, 0)), shed, shed)
    evening = NOON + 8 * HOUR
    found = next_spraying(air, evening)
    # From 08:00 at 8 °C to 09:00 at 16 °C; 10 °C is passed at 08:15.
    assert found == datetime(2026, 2, 4, 8, 15, tzinfo=UTC)
    assert next_spraying(air, NOON) == NOON


def test_it_passes_over_a_spell_shorter_than_an_hour():
    rows = [(0, 8), (1, 8), (1.1, 14), (1.6, 14), (1.7, 8), (5, 8), (5.1, 14), (9, 14)]
    air = air_through([(NOON + h * HOUR, t, 50) for h, t in rows])
    found = next_spraying(air, NOON)
    assert NOON + 5 * HOUR < found < NOON + 5.2 * HOUR


def test_an_hour_to_the_minute_is_enough():
    rows = [(0, 8), (119 / 60, 8), (2, 14), (3, 14), (181 / 60, 8), (9, 8)]
    air = air_through([(NOON + h * HOUR, t, 50) for h, t in rows])
    assert next_spraying(air, NOON) == NOON + 2 * HOUR


@pytest.mark.parametrize(
    ("room", "may_spray"),
    [((20, 85), True), ((20, 85.1), False), ((10, 50), True), ((9.9, 50), False)],
)
def test_the_next_hour_keeps_to_the_same_limits_as_the_weather_now(room, may_spray):
    # The margin of the dew point stays out of it: the surface is 5 °C warmer than the air.
    temperature, humidity = room
    now = spraying_weather(temperature, humidity, surface_temperature=temperature + 5)
    found = next_spraying(Air.steady(temperature, humidity), NOON, surface_above_air=5)
    assert (now.may_spray, found == NOON) == (may_spray, may_spray)


def test_it_finds_none_in_a_cold_shed_but_with_a_warmed_surface_no_help():
    assert next_spraying(Air.steady(8, 50), NOON) is None
    assert next_spraying(Air.steady(8, 50), NOON, surface_above_air=10) is None


def test_it_looks_at_the_surface_apart_from_the_air():
    damp = Air.steady(18, 84)
    assert next_spraying(damp, NOON) is None
    assert next_spraying(damp, NOON, surface_above_air=2) == NOON


def test_it_refuses_a_naive_moment():
    with pytest.raises(ValueError, match="timezone-aware"):
        next_spraying(Air.steady(20, 50), datetime(2026, 1, 1))
