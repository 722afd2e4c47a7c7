from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from decaljobs.craft.climate import Clock
from decaljobs.craft.drying import STANDARD_AIR, WaitTerms, progress, rate_at, ready_at
from decaljobs.craft.room.air import Air
from decaljobs.craft.room.day_of_air import AirNow, DayOfAir
from decaljobs.craft.room.expected_air import room_air
from decaljobs.craft.waiting.forecast import Forecast, forecast
from decaljobs.craft.waiting.words import range_words, rate_words, wait_words

LONDON = ZoneInfo("Europe/London")
START = datetime(2026, 2, 4, 12, tzinfo=UTC)  # a Wednesday
HOUR = timedelta(hours=1)
BASE = WaitTerms(12, 8, Clock.WATER_UNDER_FILM)


def shed(days: int, gap: tuple[int, int] = (0, 0)) -> Air:
    """A room read hourly for so many days up to the start, nights cold, some days colder."""
    hours = np.array([h for h in range(-24 * days, 1) if not gap[0] < h < gap[1]], dtype=float)
    warmth = 15 - 3 * np.cos(2 * np.pi * (hours + 12) / 24) + np.floor(hours / 24) % 4 * 0.7
    seconds = START.timestamp() + hours * 3600
    stated = DayOfAir.constant(15, 60)
    return room_air(seconds, warmth, hours * 0 + 55, stated=stated, zone=LONDON)


def test_it_computes_every_number_it_says():
    air = shed(14)
    now = START + 5 * HOUR
    words = wait_words(BASE, air, START, now, LONDON)
    far = progress(BASE, air, START, now)
    seen = forecast(BASE, air, START)
    assert words.done == f"{int(far.done_hours * 10) / 10:g} of 12 reference hours done"
    assert words.rate == f"cold, damp air, an hour counts {rate_at(BASE, air, now):.2f}"
    early, ready, late = (
        f"{moment + timedelta(minutes=1):%a %H:%M}"
        for moment in (seen.early, seen.ready, seen.late)
    )
    assert seen.early < seen.ready < seen.late
    day = ready[:4]
    assert words.ready == (
        f"dry about {ready}, between {early.removeprefix(day)} and {late.removeprefix(day)}"
    )
    assert words.sentence == f"{words.done}; {words.rate}; {words.ready}"


def test_it_says_nothing_of_the_rate_once_dry():
    words = wait_words(BASE, STANDARD_AIR, START, START + 14 * HOUR, LONDON)
    assert words.sentence == "12 of 12 reference hours done; dry since Thu 00:00"


def test_it_says_that_the_floor_must_pass():
    warm = Air.steady(30, 30)
    terms = WaitTerms(4, 8, Clock.WATER)
    words = wait_words(terms, warm, START, START + 3 * HOUR, LONDON)
    assert words.done == "4 of 4 reference hours done"
    assert words.ready == "dry about Wed 20:00: 8 h must pass in any case"


def test_it_says_that_the_air_never_dries():
    words = wait_words(BASE, Air.steady(20, 90), START, START + HOUR, LONDON)
    assert words.rate == "held: 90 %RH is above 85 %RH"
    assert words.ready == "in this air not dry within a year"


def test_it_says_when_only_good_days_dry():
    days = tuple(DayOfAir.constant(t, 50) for t in (5, 5, 5, 20, 20, 20))
    cold = Air.steady(5, 50)
    air = Air(cold.knots, cold.before, cold.after, (), days)
    words = wait_words(BASE, air, START, START, LONDON)
    assert words.ready == "in this air not dry within a year, on good days about Thu 00:00"


def test_it_says_when_slow_days_never_dry():
    days = tuple(DayOfAir.constant(t, 50) for t in (5, 5, 5, 20, 20, 20))
    air = Air(STANDARD_AIR.knots, STANDARD_AIR.before, STANDARD_AIR.after, (), days)
    words = wait_words(BASE, air, START, START, LONDON)
    assert words.ready == (
        "dry about Thu 00:00, 00:00 at the earliest, on slow days not within a year"
    )


def test_it_says_what_was_added_by_touch():
    words = wait_words(
        BASE, STANDARD_AIR, START, START + 13 * HOUR, LONDON, extra_reference_hours=3
    )
    assert words.done == "13 of 15 reference hours done (3 added by touch)"


def test_it_says_what_air_was_not_read():
    later = START + 30 * HOUR
    long = WaitTerms(100, 0, Clock.WATER)
    say = {days: wait_words(long, shed(days), START, later, LONDON).unread for days in (14, 3)}
    assert say[14] == "air expected, not read, since Wed 12:00"
    assert say[3].endswith("; no range: the room was read on fewer than 5 days")
    filled = wait_words(long, shed(14, (-20, -8)), START - 22 * HOUR, START, LONDON)
    assert filled.unread == "gaps of over 6 h in the readings filled with expected air"
    after_gap = wait_words(long, shed(14, (-20, -8)), START - 6 * HOUR, START, LONDON)
    assert after_gap.unread == ""
    never = wait_words(BASE, STANDARD_AIR, START, START, LONDON)
    assert never.unread == "the room's stated air is used, it was never read"


def test_it_counts_plain_hours_by_a_fixed_clock():
    fixed = WaitTerms(12, 8, Clock.FIXED)
    words = wait_words(fixed, Air.steady(2, 95), START, START + 3 * HOUR, LONDON)
    assert words.sentence == "3 of 12 hours done; dry about Thu 00:00"


@pytest.mark.parametrize(
    ("clock", "air", "said"),
    [
        (Clock.WATER, (20, 50), "an hour counts 1"),
        (Clock.WATER, (15, 70), "cold, damp air, an hour counts 0.44"),
        (Clock.SOLVENT, (15, 70), "cold air, an hour counts 0.71"),
        (Clock.WATER, (20, 80), "damp air, an hour counts 0.40"),
        (Clock.WATER, (25, 40), "warm air, an hour counts 1.41"),
        (Clock.WATER_UNDER_FILM, (25, 40), "an hour counts 1"),
        (Clock.WATER, (9.96, 50), "held: 9.9 °C is under the film-forming minimum of 10 °C"),
        (Clock.WATER, (20, 85.04), "held: 85.1 %RH is above 85 %RH"),
        (Clock.SOLVENT, (20, 95), "an hour counts 1"),
    ],
)
def test_it_says_why_an_hour_counts_so_much(clock, air, said):
    assert rate_words(WaitTerms(12, 8, clock), AirNow(*air)) == said


def test_it_reads_a_moved_wait_by_its_ready_moment():
    air = shed(14)
    ready = ready_at(BASE, air, START)
    assert "dry about" in wait_words(BASE, air, START, ready - HOUR, LONDON).ready
    assert "dry since" in wait_words(BASE, air, START, ready, LONDON).ready


@pytest.mark.parametrize(
    ("early", "late", "has_range", "said"),
    [
        (-2, 3, True, "between 10:00 and 15:00"),
        (-2, 16, True, "between 10:00 and Thu 04:00"),
        (-2, None, True, "10:00 at the earliest, on slow days not within a year"),
        (0, 0, True, ""),  # good and slow days alike
        (None, None, True, ""),
        (-2, 3, False, ""),
    ],
)
def test_a_range_is_told_where_there_is_one(early, late, has_range, said):
    early, late = (None if h is None else START + h * HOUR for h in (early, late))
    seen = Forecast(START, early, late, has_range)
    assert range_words(seen, START - 9 * HOUR, UTC) == said
