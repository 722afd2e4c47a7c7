"""Times as loggers write them. Expected seconds: Python's own datetime and the IANA zones."""

from datetime import UTC, datetime, timedelta
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


def minutes_between(*clocks):
    """Minutes from line to line in the night of 25 October 2026, when Europe/London went back from
    02:00 to 01:00 (IANA time zone database)."""
    reader = TimeReader(TimeFormat.YEAR_FIRST, LONDON)
    read = [reader.seconds(f"2026-10-25 {clock}") for clock in clocks]
    return [(b - a) // 60 for a, b in zip(read, read[1:], strict=False)]


def test_a_logger_that_writes_a_minute_twice_keeps_the_two_hours_apart():
    hour = [f"01:{minute:02d}" for minute in range(60) for _ in range(2)]
    clocks = ["00:59", "00:59", *hour, *hour, "02:00"]
    assert minutes_between(*clocks) == [0, 1] * 121
    assert minutes_between(*hour, *hour, "02:00") == [0, 1] * 120


def test_a_logger_of_one_line_an_hour_writes_the_doubled_hour_twice():
    assert minutes_between("00:00", "01:00", "01:00", "02:00") == [60, 60, 60]


@pytest.mark.parametrize(
    ("every", "times"), [(1, 1), (1, 2), (7, 1), (30, 1), (30, 3), (60, 1)], ids=str
)
def test_the_newest_line_may_stand_first_in_that_night(every, times):
    """Minutes as Python's own datetime has them on the wall, each written so many times."""
    start = datetime(2026, 10, 24, 20, tzinfo=UTC)
    moments = [start + timedelta(minutes=m) for m in range(0, 480, every) for _ in range(times)]
    written = [f"{moment.astimezone(LONDON):%Y-%m-%d %H:%M}" for moment in moments]
    for order in (1, -1):
        reader = TimeReader(TimeFormat.YEAR_FIRST, LONDON)
        read = [reader.seconds(text) for text in written[::order]]
        assert read == [moment.timestamp() for moment in moments[::order]]


def test_readings_a_gap_before_the_doubled_hour_are_still_told_apart():
    assert minutes_between("00:00", "00:01", "01:10", "01:10", "01:11") == [1, 69, 0, 1]


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
