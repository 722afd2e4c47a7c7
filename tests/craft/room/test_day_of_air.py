from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from decaljobs.craft.room.air import Air
from decaljobs.craft.room.day_of_air import AirNow, DayOfAir

LONDON = ZoneInfo("Europe/London")
HOUR = timedelta(hours=1)


def hours_of(day: DayOfAir, start: datetime, end: datetime) -> dict[datetime, float]:
    knots = day.knots(start.timestamp(), end.timestamp())
    return {datetime.fromtimestamp(s, UTC): t for s, t, _ in knots.T}


def test_it_follows_the_local_hour_across_a_clock_change():
    day = DayOfAir(tuple(range(24)), (50,) * 24, LONDON)
    start = datetime(2026, 10, 24, 22, tzinfo=UTC)
    said = hours_of(day, start, start + 6 * HOUR)
    # 23:00, 00:00, 01:00 summer time, 01:00 and 02:00 and 03:00 winter time.
    wanted = [23, 0, 1, 1, 2, 3, 4]
    assert list(said.values()) == wanted


def test_it_changes_from_day_to_night_at_the_stated_hours():
    shed = DayOfAir.day_and_night(
        AirNow(18, 55), AirNow(9, 80), zone=LONDON, day_from=8, night_from=20
    )
    assert [shed.temperatures[h] for h in (7, 8, 19, 20)] == [9, 18, 18, 9]
    air = Air(np.empty((3, 0)), shed, shed)
    assert air.at(datetime(2026, 7, 1, 12, tzinfo=LONDON)) == AirNow(18, 55)
    assert air.at(datetime(2026, 7, 1, 3, tzinfo=LONDON)) == AirNow(9, 80)


def test_it_states_a_day_that_runs_past_midnight():
    late = DayOfAir.day_and_night(AirNow(20, 50), AirNow(10, 70), day_from=18, night_from=2)
    assert [late.temperatures[h] for h in (17, 18, 23, 1, 2)] == [10, 20, 20, 20, 10]


@pytest.mark.parametrize(
    ("temperatures", "humidities", "said"),
    [
        ((20,) * 23, (50,) * 24, "24 temperatures and 24 humidities"),
        ((90,) * 24, (50,) * 24, "-40 to 60 °C"),
        ((20,) * 24, (101,) * 24, "0 to 100 %RH"),
    ],
)
def test_it_refuses_a_day_that_cannot_be(temperatures, humidities, said):
    with pytest.raises(ValueError, match=said):
        DayOfAir(temperatures, humidities)
