"""Bench hours on the wall clock, with the clock-change weeks of London and New York.

The dates of the changes are those of the IANA time zone database (RFC 6557), read by zoneinfo:
London 29 March and 25 October 2026, New York 8 March and 1 November 2026.
"""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from decaljobs.craft.plan.hours import (
    FIRST_PATTERN,
    BenchException,
    WeeklyHours,
    hours_in_words,
    overlapping_hours,
    sessions_between,
)

LONDON = ZoneInfo("Europe/London")
NEW_YORK = ZoneInfo("America/New_York")
DAY = timedelta(days=1)
MONDAY = datetime(2026, 3, 2, tzinfo=UTC)
DAILY = tuple(WeeklyHours(day, time(19), time(22)) for day in range(7))


def sessions(pattern, since=MONDAY, days=7, exceptions=(), zone=LONDON):
    return sessions_between(pattern, exceptions, since, since + days * DAY, zone, "Ada")


def utc(found):
    return [(s.start.strftime("%d %H:%M"), s.end.strftime("%d %H:%M")) for s in found]


def test_it_starts_with_five_evenings_and_saturday_morning():
    found = sessions(FIRST_PATTERN)
    assert [(s.start.day, s.start.hour, s.end.hour) for s in found] == [
        *((day, 19, 22) for day in range(2, 7)),
        (7, 9, 13),
    ]
    assert {s.maker for s in found} == {"Ada"}
    assert all(s.start.tzinfo is UTC and s.end.tzinfo is UTC for s in found)


def test_it_keeps_the_clock_on_the_wall_when_clocks_go_forward():
    found = sessions(DAILY, datetime(2026, 3, 27, tzinfo=UTC), 4)
    assert utc(found) == [
        ("27 19:00", "27 22:00"),
        ("28 19:00", "28 22:00"),
        ("29 18:00", "29 21:00"),
        ("30 18:00", "30 21:00"),
    ]


def test_it_keeps_the_clock_on_the_wall_when_clocks_go_back():
    found = sessions(DAILY, datetime(2026, 10, 24, tzinfo=UTC), 3)
    assert utc(found) == [
        ("24 18:00", "24 21:00"),
        ("25 19:00", "25 22:00"),
        ("26 19:00", "26 22:00"),
    ]


@pytest.mark.parametrize(
    "zone, sunday, hours",
    [
        (LONDON, date(2026, 3, 29), 3),
        (LONDON, date(2026, 10, 25), 5),
        (NEW_YORK, date(2026, 3, 8), 3),
        (NEW_YORK, date(2026, 11, 1), 5),
    ],
)
def test_it_gives_the_night_of_a_clock_change_its_true_length(zone, sunday, hours):
    night = [WeeklyHours(5, time(23), time(3))]
    since = datetime.combine(sunday - DAY, time(12), UTC)
    (found,) = sessions(night, since, 1, zone=zone)
    assert found.end - found.start == timedelta(hours=hours)
    assert found.end.astimezone(zone).time() == time(3)


def test_it_takes_the_first_of_an_hour_that_the_clock_shows_twice():
    (found,) = sessions(
        [WeeklyHours(6, time(1, 30), time(4))], datetime(2026, 10, 24, 12, tzinfo=UTC), 2
    )
    assert utc([found]) == [("25 00:30", "25 04:00")]


def test_it_reads_a_skipped_hour_as_the_one_after_it():
    (found,) = sessions(
        [WeeklyHours(6, time(1, 30), time(4))], datetime(2026, 3, 28, 12, tzinfo=UTC), 2
    )
    assert found.start.astimezone(LONDON).time() == time(2, 30)


def test_it_leaves_out_hours_that_the_clock_skips_altogether():
    skipped = [WeeklyHours(6, time(1), time(2))]
    assert sessions(skipped, datetime(2026, 3, 28, 12, tzinfo=UTC), 2) == ()


def test_it_runs_past_midnight():
    found = sessions([WeeklyHours(0, time(22), time(1))], days=2)
    assert utc(found) == [("02 22:00", "03 01:00")]


def test_it_includes_a_session_that_runs_at_the_beginning():
    since = MONDAY + timedelta(hours=20)
    assert utc(sessions(DAILY, since, 1))[0] == ("02 19:00", "02 22:00")
    assert utc(sessions(DAILY, MONDAY + timedelta(hours=22), 1))[0] == ("03 19:00", "03 22:00")


def test_it_includes_last_nights_session_that_still_runs():
    since = MONDAY + timedelta(minutes=30)
    night = [WeeklyHours(6, time(22), time(1))]
    assert utc(sessions(night, since, 1)) == [("01 22:00", "02 01:00")]


def test_it_closes_a_holiday_and_adds_an_extra_session():
    exceptions = [
        BenchException(date(2026, 3, 3)),
        BenchException(date(2026, 3, 4), time(8), time(10)),
    ]
    assert utc(sessions(DAILY, days=3, exceptions=exceptions)) == [
        ("02 19:00", "02 22:00"),
        ("04 08:00", "04 10:00"),
        ("04 19:00", "04 22:00"),
    ]


def test_it_lets_an_extra_session_stand_on_a_closed_day():
    day = date(2026, 3, 3)
    exceptions = [BenchException(day), BenchException(day, time(8), time(10))]
    assert ("03 08:00", "03 10:00") in utc(sessions(DAILY, exceptions=exceptions))
    assert ("03 19:00", "03 22:00") not in utc(sessions(DAILY, exceptions=exceptions))


def test_it_joins_hours_that_overlap_or_touch():
    pattern = [
        WeeklyHours(0, time(19), time(21)),
        WeeklyHours(0, time(20), time(22)),
        WeeklyHours(0, time(22), time(23)),
    ]
    assert utc(sessions(pattern, days=1)) == [("02 19:00", "02 23:00")]


def test_it_has_no_sessions_without_hours():
    assert sessions([]) == ()


def test_it_wants_moments_with_a_zone():
    with pytest.raises(ValueError, match="must carry their zone"):
        sessions_between(DAILY, (), datetime(2026, 3, 2), MONDAY, LONDON, "Ada")


@pytest.mark.parametrize(
    "hours, pairs",
    [
        ([(0, 19, 22), (0, 21, 23)], 1),
        ([(0, 19, 22), (0, 22, 23)], 0),
        ([(0, 19, 22), (1, 19, 22)], 0),
        ([(6, 22, 2), (0, 1, 3)], 1),  # Sunday night reaches into Monday
        ([(6, 22, 2), (0, 2, 3)], 0),
        ([(0, 19, 22), (0, 19, 22), (0, 20, 21)], 3),
    ],
)
def test_it_names_weekly_hours_that_overlap(hours, pairs):
    pattern = [WeeklyHours(day, time(start), time(end)) for day, start, end in hours]
    sentences = overlapping_hours(pattern)
    assert len(sentences) == pairs
    assert all(sentence.endswith(" overlap.") for sentence in sentences)


def test_it_writes_hours_as_the_page_does():
    assert hours_in_words(WeeklyHours(5, time(9), time(13))) == "Sat 09:00–13:00"


@pytest.mark.parametrize("weekday", [-1, 7])
def test_it_rejects_a_day_that_is_none_of_the_week(weekday):
    with pytest.raises(ValueError, match=r"0 \(Monday\) to 6 \(Sunday\)"):
        WeeklyHours(weekday, time(19), time(22))


def test_it_rejects_hours_of_no_length():
    with pytest.raises(ValueError, match="same time"):
        WeeklyHours(0, time(19), time(19))
    with pytest.raises(ValueError, match="must not start and end at"):
        BenchException(date(2026, 3, 3), time(8), time(8))


def test_it_rejects_an_extra_session_without_an_end():
    with pytest.raises(ValueError, match="both a start and an end"):
        BenchException(date(2026, 3, 3), time(8))
