"""Progress and ready moments against worked climates.

Worked with the vapour pressure of Alduchov and Eskridge (1996), hence 0.5 % on water clocks.
"""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from decaljobs.craft.climate import Clock, drying_rate
from decaljobs.craft.drying import (
    STANDARD_AIR,
    WaitTerms,
    progress,
    ready_at,
    ready_at_many,
    reference_hours,
)
from decaljobs.craft.room.air import Air, moved_air
from tests.craft.airs import air_through

WITHIN = 0.005
HOUR = timedelta(hours=1)
EVENING = datetime(2026, 2, 3, 21, tzinfo=UTC)
LONDON = ZoneInfo("Europe/London")
WATER = WaitTerms(12, 0, Clock.WATER)
SOLVENT = WaitTerms(12, 0, Clock.SOLVENT)
LOGGED = [(0, 21, 50), (8, 14, 68), (12, 20, 52), (22, 21, 50)]


def air_of(*rows: tuple[float, float, float]) -> Air:
    return air_through([(EVENING + hours * HOUR, t, rh) for hours, t, rh in rows])


def counted(terms: WaitTerms, air: Air, hours: float) -> float:
    return reference_hours(terms, air, EVENING, EVENING + hours * HOUR)


@pytest.mark.parametrize(
    ("terms", "hours", "wanted"),
    [
        (WATER, 8, 5.742),
        (WATER, 12, 8.442),
        (WATER, 22, 18.553),
        (SOLVENT, 8, 6.793),
        (SOLVENT, 12, 10.066),
        (SOLVENT, 22, 20.421),
    ],
)
def test_it_agrees_with_the_logged_climate(terms, hours, wanted):
    assert counted(terms, air_of(*LOGGED), hours) == pytest.approx(wanted, rel=WITHIN)


@pytest.mark.parametrize(("asked", "clock"), [(8, "08:35"), (10, "10:40"), (12, "12:40")])
def test_it_is_ready_in_the_logged_climate_when_worked(asked, clock):
    ready = ready_at(WaitTerms(asked, 0, Clock.WATER), air_of(*LOGGED), EVENING)
    # The worked moments stand on a grid of five minutes: the first one past readiness.
    wanted = datetime.fromisoformat(f"2026-02-04T{clock}+00:00")
    assert timedelta(0) <= wanted - ready < timedelta(minutes=5)


def test_it_follows_no_shortcut_between_two_readings():
    at_ends = drying_rate(Clock.WATER, np.array([21, 14]), np.array([50, 68]))
    averaged_rates = 8 * float(at_ends.mean())
    held_reading = 8 * float(at_ends[0])
    averaged_readings = 8 * float(drying_rate(Clock.WATER, 17.5, 59))
    # The first two as worked in the table of checks.
    assert averaged_rates == pytest.approx(6.005, rel=WITHIN)
    assert held_reading == pytest.approx(8.509, rel=WITHIN)
    ours = counted(WATER, air_of(*LOGGED), 8)
    for shortcut in (averaged_rates, held_reading, averaged_readings):
        assert abs(ours - shortcut) > 0.02 * ours


def test_it_stands_still_once_the_air_cools_below_the_film_forming_minimum():
    air = air_of((0, 12, 60), (4, 8, 60))
    assert counted(WATER, air, 4) == pytest.approx(0.8992, rel=WITHIN)
    # 12 to 10 °C takes the first two hours; nothing counts in the last two.
    assert counted(WATER, air, 2) == counted(WATER, air, 4)


def test_it_stands_still_once_the_air_is_too_damp():
    air = air_of((0, 20, 80), (4, 20, 90))
    assert counted(WATER, air, 4) == pytest.approx(0.700, rel=1e-6)
    assert counted(SOLVENT, air, 4) == pytest.approx(4.0)


def test_it_follows_a_layer_from_room_to_room():
    rooms = [Air.steady(20, 50), Air.steady(15, 70), Air.steady(9, 50)]
    air = moved_air([(EVENING + i * 4 * HOUR, room) for i, room in enumerate(rooms)])
    assert counted(WATER, air, 12) == pytest.approx(5.7505, rel=WITHIN)
    assert ready_at(WATER, air, EVENING) is None


@pytest.mark.parametrize(
    ("start", "local_end"),
    [
        (datetime(2026, 10, 24, 20, tzinfo=LONDON), "2026-10-25 07:00"),
        (datetime(2026, 3, 28, 20, tzinfo=LONDON), "2026-03-29 09:00"),
    ],
)
def test_it_adds_hours_across_a_clock_change(start, local_end):
    ready = ready_at(WaitTerms(12, 12, Clock.FIXED), STANDARD_AIR, start)
    assert f"{ready.astimezone(LONDON):%Y-%m-%d %H:%M}" == local_end


@pytest.mark.parametrize(
    ("temperature", "humidity", "hours"),
    [(20, 50, 24.0), (23, 50, 19.97), (25, 40, 16.97), (15, 70, 54.84), (18, 65, 38.84)]
    + [(20, 80, 60.0)],
)
def test_it_takes_as_long_as_worked_for_24_reference_hours(temperature, humidity, hours):
    air = Air.steady(temperature, humidity)
    taken = ready_at(WaitTerms(24, 0, Clock.WATER), air, EVENING) - EVENING
    assert taken / HOUR == pytest.approx(hours, rel=WITHIN)


@pytest.mark.parametrize(("temperature", "humidity"), [(20, 86), (9.9, 50)])
def test_it_is_never_ready_in_air_that_holds_it(temperature, humidity):
    air = Air.steady(temperature, humidity)
    assert ready_at(WaitTerms(24, 0, Clock.WATER), air, EVENING) is None


def test_it_gives_up_after_366_days():
    slow = WaitTerms(2000, 0, Clock.WATER)
    # 0.32 counted in an hour: 2,000 take 6,250 h, 2,900 take 9,062 h; 366 days are 8,784 h.
    damp = Air.steady(20, 84)
    rate = float(drying_rate(Clock.WATER, 20, 84))
    assert rate == pytest.approx(0.32)
    assert ready_at(slow, damp, EVENING) - EVENING == pytest.approx(
        2000 / rate * HOUR, abs=timedelta(seconds=1)
    )
    assert ready_at(slow, damp, EVENING, extra_reference_hours=900) is None


def test_it_never_undercuts_the_floor():
    warm = Air.steady(30, 30)
    terms = WaitTerms(12, 8, Clock.WATER)
    assert counted(terms, warm, 6) == pytest.approx(12.0)
    assert ready_at(terms, warm, EVENING) == EVENING + 8 * HOUR
    half = progress(terms, warm, EVENING, EVENING + 6 * HOUR)
    assert half.fraction == pytest.approx(0.75)
    assert half.done_hours == pytest.approx(half.of_hours)


def test_it_asks_for_the_hours_added_by_touch():
    ready = ready_at(WATER, STANDARD_AIR, EVENING, extra_reference_hours=3)
    assert ready == EVENING + 15 * HOUR
    assert progress(
        WATER, STANDARD_AIR, EVENING, EVENING + 12 * HOUR, extra_reference_hours=3
    ).fraction == pytest.approx(0.8)


def test_it_answers_many_waits_as_it_answers_one():
    air = air_of(*LOGGED)
    starts = [EVENING + i * HOUR / 3 for i in range(60)]
    many = ready_at_many(WATER, air, starts, extra_reference_hours=np.arange(60) / 10)
    fresh = air_of(*LOGGED)
    ones = [
        ready_at(WATER, fresh, start, extra_reference_hours=i / 10)
        for i, start in enumerate(starts)
    ]
    gaps = [abs((a - b).total_seconds()) for a, b in zip(many, ones, strict=True)]
    assert max(gaps) < 0.001
    assert ready_at_many(WATER, air, []) == []


def test_it_is_exact_to_the_microsecond_in_standard_air():
    start = EVENING + timedelta(microseconds=123_457)
    assert ready_at(WATER, STANDARD_AIR, start) == start + 12 * HOUR


def test_it_says_what_an_hour_counts_now_and_why_it_stands():
    air = air_of((0, 12, 60), (4, 8, 60), (8, 20, 60), (12, 20, 90))
    now = [progress(WATER, air, EVENING, EVENING + hours * HOUR) for hours in (1, 4, 8, 12)]
    assert [p.halt for p in now] == [None, "too cold", None, "too damp"]
    assert [p.rate_now > 0 for p in now] == [True, False, True, False]
    assert now[2].rate_now == pytest.approx(0.8, rel=WITHIN)


def test_it_reaches_one_at_the_ready_moment_and_never_before():
    air = air_of(*LOGGED)
    ready = ready_at(WATER, air, EVENING)
    tick = timedelta(microseconds=1)
    assert progress(WATER, air, EVENING, ready).fraction == 1.0
    assert progress(WATER, air, EVENING, ready - tick).fraction < 1.0
    assert progress(WATER, air, EVENING, ready - tick).fraction > 0.999


def test_it_has_done_nothing_before_the_start():
    early = progress(WATER, STANDARD_AIR, EVENING, EVENING - HOUR)
    assert (early.done_hours, early.fraction) == (0.0, 0.0)


def test_it_reads_moments_of_any_zone_alike():
    local = EVENING.astimezone(ZoneInfo("Asia/Kathmandu"))
    assert ready_at(WATER, air_of(*LOGGED), local) == ready_at(WATER, air_of(*LOGGED), EVENING)


@pytest.mark.parametrize(
    "call",
    [
        lambda naive: ready_at(WATER, STANDARD_AIR, naive),
        lambda naive: progress(WATER, STANDARD_AIR, EVENING, naive),
        lambda naive: reference_hours(WATER, STANDARD_AIR, naive, EVENING),
        lambda naive: STANDARD_AIR.at(naive),
    ],
)
def test_it_refuses_naive_moments(call):
    with pytest.raises(ValueError, match="timezone-aware"):
        call(datetime(2026, 1, 1, 12))


def test_it_refuses_an_end_before_the_start():
    with pytest.raises(ValueError, match="end must not lie before the start"):
        reference_hours(WATER, STANDARD_AIR, EVENING, EVENING - HOUR)


@pytest.mark.parametrize("extra", [-1.0, 20_001.0, float("nan")])
def test_it_refuses_extra_hours_out_of_range(extra):
    with pytest.raises(ValueError, match="0 to 20000 h"):
        ready_at(WATER, STANDARD_AIR, EVENING, extra_reference_hours=extra)
