"""Times as loggers write them. Expected seconds: Python's own datetime and the IANA zones."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from decaljobs.craft.room.readings_times import TimeError, TimeFormat, TimeReader

LONDON = ZoneInfo("Europe/London")


def seconds(text, form=TimeFormat.YEAR_FIRST, zone=LONDON):
    return TimeReader(form, zone).seconds(text)


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("2026-11-24 21:40", "year"),
        ("2026-11-24T21:40:00", "year"),
        ("2026/11/24 21:40", "year"),
        ("2026-11-24T21:40Z", "year"),
        ("2026-11-24T22:40:00+01:00", "year"),
        ("2026-11-24 16:40 -0500", "year"),
        ("24.11.2026 21:40", "day"),
        ("24/11/26 9:40 pm", "day"),
        ("11/24/2026 09:40 PM", "month"),
        ("11/24/2026 9:40:00 p.m.", "month"),
        ("1795556400", "seconds"),
        ("1795556400000", "seconds"),
    ],
)
def test_one_moment_in_many_ways_of_writing(text, form):
    moment = datetime(2026, 11, 24, 21, 40, tzinfo=UTC)
    assert seconds(text, TimeFormat(form)) == moment.timestamp()


def test_summer_time_counts():
    assert seconds("2026-07-01 12:00") == datetime(2026, 7, 1, 11, tzinfo=UTC).timestamp()


def test_the_hour_run_through_twice_is_told_apart_by_the_order_of_lines():
    """Europe/London, 2026-10-25: 01:00 to 02:00 comes twice (IANA time zone database)."""
    reader = TimeReader(TimeFormat.YEAR_FIRST, LONDON)
    read = [reader.seconds(f"2026-10-25 0{t}") for t in ("0:30", "1:00", "1:30", "1:00", "1:30")]
    read.append(reader.seconds("2026-10-25 02:00"))
    steps = [(b - a) // 60 for a, b in zip(read, read[1:], strict=False)]
    assert steps == [30, 30, 30, 30, 30]


def test_an_hour_passed_over_is_refused():
    with pytest.raises(TimeError, match="forward past 01:00"):
        seconds("2026-03-29 01:00")
    assert seconds("2026-03-29 02:00") - seconds("2026-03-29 00:59") == 60


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("2026-02-30 10:00", "no day of the calendar"),
        ("24.11.2026 10:00", "no date of the form"),
        ("1970-01-01 10:00", "not a year from 2000"),
        ("2026-11-24", "time of day is missing"),
        ("2026-11-24 24:00", "no time of the day"),
        ("2026-11-24 21:60", "no time of the day"),
        ("2026-11-24 21:40:60", "no time of the day"),
        ("2026-11-24 13:00 pm", "twelve hours"),
        ("2026-11-24 soon", "no time such as"),
        ("", "no date"),
    ],
)
def test_it_says_what_is_wrong_with_a_time(text, said):
    with pytest.raises(TimeError, match=said):
        seconds(text)


@pytest.mark.parametrize("text", ["nan", "inf", "1e300", "-5", "x"])
def test_a_count_of_seconds_has_to_be_in_its_years(text):
    with pytest.raises(TimeError):
        seconds(text, TimeFormat.SECONDS)
