from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from decaljobs.craft.room.day_of_air import AirNow, DayOfAir
from decaljobs.craft.room.expected_air import hourly_air, room_air

LONDON = ZoneInfo("Europe/London")
STATED = DayOfAir.day_and_night(AirNow(18, 55), AirNow(10, 75), zone=LONDON)
START = datetime(2026, 2, 2, tzinfo=UTC)
HOUR = timedelta(hours=1)


def room(hours, temperature, humidity=50.0, zone=LONDON):
    seconds = START.timestamp() + np.asarray(hours) * 3600.0
    return room_air(
        seconds, temperature, np.zeros(len(seconds)) + humidity, stated=STATED, zone=zone
    )


def daily_wave(hours, mean=17.0, swing=4.0):
    return mean + swing * np.sin(2 * np.pi * np.asarray(hours) / 24)


def test_it_is_the_stated_day_where_nothing_was_read():
    air = room([], [])
    assert air.at(START + 12 * HOUR) == AirNow(18, 55)
    assert air.at(START + 3 * HOUR) == AirNow(10, 75)
    assert air.days == ()


def test_it_expects_each_hour_of_day_as_in_the_last_fourteen_days():
    minutes = np.arange(20 * 1440) / 60
    air = room(minutes, daily_wave(minutes))
    later = START + timedelta(days=30)
    for hour in range(0, 24, 3):
        expected = air.at(later + hour * HOUR).temperature
        # An hour's mean of a sine is 0.3 % short of its crest.
        assert expected == pytest.approx(daily_wave(hour), abs=0.02)


def test_it_forgets_what_is_older_than_fourteen_days():
    hours = np.arange(0, 40 * 24, 0.5)
    air = room(hours, np.where(hours < 26 * 24 - 1, 30.0, 16.0))
    assert air.at(START + timedelta(days=45)).temperature == pytest.approx(16.0)


def test_the_hour_that_was_read_last_counts_already():
    hours = np.arange(0, 9.75, 0.25)
    air = room(hours, np.where(hours < 8.5, 16.0, 22.0))
    assert air.at(START + 33 * HOUR).temperature == pytest.approx(22.0)  # 09:00, a day later
    assert air.at(START + 34 * HOUR).temperature == pytest.approx(18.0)  # as stated


def test_it_expects_the_stated_air_at_hours_of_day_never_read():
    by_day = [24 * day + hour for day in range(10) for hour in range(9, 18)]
    air = room(by_day, 22.0 + np.zeros(len(by_day)))
    later = START + timedelta(days=20)
    assert air.at(later + 12 * HOUR).temperature == pytest.approx(22.0)
    assert air.at(later + 3 * HOUR) == pytest.approx((10, 75))


def test_it_fills_a_long_gap_with_expected_air_and_says_so():
    hours = np.concatenate([np.arange(0, 14 * 24), np.arange(15 * 24, 16 * 24)]).astype(float)
    air = room(hours, daily_wave(hours))
    begin, end = START + (14 * 24 - 1) * HOUR, START + 15 * 24 * HOUR
    assert air.filled == ((begin, end),)
    middle = START + (14 * 24 + 6) * HOUR
    # A straight line across the night would read the wave's own mean here.
    assert air.at(middle).temperature == pytest.approx(21.0, abs=0.1)


def test_it_fills_a_gap_from_the_days_before_it_only():
    hours = np.concatenate([np.arange(0, 48), np.arange(96, 480)]).astype(float)
    air = room(hours, np.where(hours < 60, 15.0, 25.0))
    assert air.at(START + 72 * HOUR).temperature == pytest.approx(15.0)


def test_it_joins_readings_six_hours_apart_by_a_line():
    air = room([0, 6, 12.5], [10.0, 16.0, 16.0])
    assert air.at(START + 3 * HOUR).temperature == pytest.approx(13.0)
    assert [begin for begin, _ in air.filled] == [START + 6 * HOUR]


def test_it_measures_whole_days_and_no_others():
    hours = np.arange(0, 10 * 24 + 5, 0.25)
    air = room(hours, daily_wave(hours))
    assert len(air.days) == 10
    part = np.concatenate([np.arange(24.0 * day, 24 * day + 16) for day in range(10)])
    assert room(part, daily_wave(part)).days == ()


def test_it_tells_a_cold_day_from_a_warm_one():
    hours = np.arange(0, 14 * 24, 0.5)
    air = room(hours, 10.0 + np.floor(hours / 24), zone=UTC)
    means = [np.mean(day.temperatures) for day in air.days]
    # Newest first; each span of a day overlaps its neighbour by half an hour.
    assert means == pytest.approx([23.0 - i for i in range(len(means))], abs=0.15)
    assert len(means) >= 13


def test_it_averages_over_time_not_over_readings():
    # Forty readings in the first minutes of the hour, one at its end.
    hours = np.concatenate([np.linspace(-0.5, -0.45, 40), [0.5, 1.5]])
    read = np.array([hours * 3600.0, np.interp(hours, [-0.5, 0.5, 1.5], [10, 20, 30]), hours * 0])
    means = hourly_air(read, UTC)
    assert means.temperature[means.centres == 0.0] == pytest.approx(15.0)


def test_it_keeps_whole_hours_of_a_zone_half_an_hour_off():
    hours = np.arange(0, 48, 0.5)
    seconds = START.timestamp() + hours * 3600.0
    read = np.array([seconds, daily_wave(hours), hours * 0 + 50])
    means = hourly_air(read, ZoneInfo("Asia/Kolkata"))
    local = [datetime.fromtimestamp(s, ZoneInfo("Asia/Kolkata")) for s in means.centres]
    assert {moment.minute for moment in local} == {0}
    assert [moment.hour for moment in local] == means.of_day.tolist()


def test_it_refuses_what_the_air_refuses():
    with pytest.raises(ValueError, match="humidity must be 0 to 100 %RH"):
        room([0, 1], [20.0, 20.0], 140.0)
