"""What makers type for a moment, also in the nights of the clock changes.

Clock changes of Europe/London in 2026, by the IANA time zone database: forward on
29 March at 01:00 UTC, back on 25 October at 01:00 UTC.
"""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django import forms
from hypothesis import given
from hypothesis import strategies as st

from decaljobs.forms.moments import MomentField, read_moment

LONDON = ZoneInfo("Europe/London")
NOW = datetime(2026, 11, 25, 20, 55, tzinfo=UTC)


def read(text: str, now: datetime = NOW) -> datetime:
    return read_moment(text, now=now, zone=LONDON)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("20:40", datetime(2026, 11, 25, 20, 40, tzinfo=UTC)),
        ("8:05", datetime(2026, 11, 25, 8, 5, tzinfo=UTC)),
        ("20.40", datetime(2026, 11, 25, 20, 40, tzinfo=UTC)),
        ("today 20:40", datetime(2026, 11, 25, 20, 40, tzinfo=UTC)),
        ("yesterday 21:40", datetime(2026, 11, 24, 21, 40, tzinfo=UTC)),
        ("  Yesterday   21:40 ", datetime(2026, 11, 24, 21, 40, tzinfo=UTC)),
        ("2026-11-24 21:40", datetime(2026, 11, 24, 21, 40, tzinfo=UTC)),
        ("2026-11-24T21:40", datetime(2026, 11, 24, 21, 40, tzinfo=UTC)),
        ("2026-11-24T21:40:30Z", datetime(2026, 11, 24, 21, 40, 30, tzinfo=UTC)),
        ("2026-11-24T21:40:30.123+01:00", datetime(2026, 11, 24, 20, 40, 30, tzinfo=UTC)),
        ("2026-07-01 21:40", datetime(2026, 7, 1, 20, 40, tzinfo=UTC)),
        ("2026-07-01 21:40 BST", datetime(2026, 7, 1, 20, 40, tzinfo=UTC)),
    ],
)
def test_it_reads_what_makers_type(text, expected):
    assert read(text) == expected


def test_yesterday_goes_by_the_workshops_midnight_not_by_utc():
    just_past_midnight = datetime(2026, 7, 1, 23, 30, tzinfo=UTC)  # 00:30 on 2 July in London
    assert read("yesterday 21:40", just_past_midnight) == datetime(2026, 7, 1, 20, 40, tzinfo=UTC)


@pytest.mark.parametrize(
    "text",
    ["25:00", "21:60", "soon", "tomorrow 21:40", "2026-02-30 10:00", "0000-01-01 00:00", "21"]
    + ["-1", "NaN", "1e308", "21:40; drop", "21:40 PST", "21:40 +99:00", "٢١:٤٠", "21:40\x00"],
)
def test_it_rejects_what_is_no_moment(text):
    with pytest.raises(forms.ValidationError):
        read(text)


@pytest.mark.parametrize("text", ["0001-01-01 00:00", "1999-12-31 23:00", "9999-12-31 23:59"])
def test_it_rejects_years_out_of_range_and_names_the_range(text):
    with pytest.raises(forms.ValidationError, match="2000 to 2200"):
        read(text)


def test_it_rejects_an_hour_that_the_clocks_passed_over():
    with pytest.raises(forms.ValidationError, match="went forward past 01:30"):
        read("2026-03-29 01:30")
    assert read("2026-03-29 02:00") == datetime(2026, 3, 29, 1, 0, tzinfo=UTC)


def test_it_asks_which_of_two_equal_hours_is_meant():
    with pytest.raises(forms.ValidationError, match="01:30 BST or 01:30 GMT"):
        read("2026-10-25 01:30")
    assert read("2026-10-25 01:30 BST") == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert read("2026-10-25 01:30 gmt") == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    assert read("2026-10-25 00:59") == datetime(2026, 10, 24, 23, 59, tzinfo=UTC)
    assert read("2026-10-25 02:00") == datetime(2026, 10, 25, 2, 0, tzinfo=UTC)


@given(st.datetimes(datetime(2001, 1, 1), datetime(2100, 1, 1), timezones=st.just(UTC)))
def test_what_the_clock_on_the_wall_shows_is_read_back(moment):
    moment = moment.replace(second=0, microsecond=0)
    wall = moment.astimezone(LONDON)
    assert read(f"{wall:%Y-%m-%d %H:%M} {wall.tzname()}") == moment


def test_the_field_takes_the_zone_of_the_workshop_and_lets_nothing_through_as_none():
    field = MomentField(required=False)
    with time_machine.travel(NOW, tick=False):
        assert field.clean("yesterday 21:40") == NOW - timedelta(hours=23, minutes=15)
    assert field.clean("") is None
    assert field.clean("   ") is None


def test_the_field_rejects_long_nonsense():
    with pytest.raises(forms.ValidationError):
        MomentField(required=False).clean("9" * 500)


def test_the_field_can_be_compulsory():
    with pytest.raises(forms.ValidationError, match="required"):
        MomentField().clean("")
