"""Days and hours as people write them, in the order and by the clock that they read."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest
from django import forms

from decaljobs.craft.ways import Ways
from decaljobs.forms.days import read_day
from decaljobs.forms.moments import MomentField, read_moment
from decaljobs.services.words import say_moment
from decaljobs.shown import written_for

TODAY = date(2026, 11, 24)
NOW = datetime(2026, 11, 24, 20, 0, tzinfo=UTC)
AMERICAN = Ways(unit="in", twelve=True, order="mdy")


@pytest.mark.parametrize(
    "text",
    [
        "2026-11-03",
        "3/11/2026",
        "03/11/2026",
        "3.11.2026",
        "3 nov 2026",
        "nov 3, 2026",
        "tue 3 nov 2026",
        "3 nov",
        "nov 3",
        "tue, nov 3",
    ],
)
def test_a_day_is_read_however_it_is_written(text):
    assert read_day(text, TODAY, "dmy") == date(2026, 11, 3)


def test_slashes_are_read_in_the_reader_s_order():
    assert read_day("3/11/2026", TODAY, "mdy") == date(2026, 3, 11)
    with pytest.raises(ValueError, match="year first"):
        read_day("3/11/2026", TODAY, "ymd")


def test_a_day_without_its_year_is_the_latest_past_one():
    assert read_day("24 nov", TODAY, "dmy") == TODAY
    assert read_day("25 nov", TODAY, "dmy") == date(2025, 11, 25)


@pytest.mark.parametrize("text", ["31/4/2026", "13/13/2026", "0 nov", "noon", "29 feb", "--"])
def test_what_is_no_day_is_refused(text):
    with pytest.raises(ValueError):  # noqa: PT011
        read_day(text, TODAY, "dmy")


@pytest.mark.parametrize(
    ("text", "hour"),
    [("12:00 am", 0), ("12:30am", 0), ("9:40 am", 9), ("12:05 pm", 12), ("7:40 PM", 19)],
)
def test_twelve_hours_are_read(text, hour):
    found = read_moment(f"yesterday {text}", now=NOW, zone=ZoneInfo("UTC"))
    assert (found.day, found.hour) == (23, hour)


@pytest.mark.parametrize("text", ["13:00 pm", "0:10 am", "9:40 xm 7"])
def test_hours_that_no_clock_shows_are_refused(text):
    with pytest.raises(forms.ValidationError):
        read_moment(text, now=NOW, zone=ZoneInfo("UTC"))


@pytest.mark.parametrize(
    "reader", [Ways(), AMERICAN, Ways(order="ymd"), Ways(twelve=True), Ways(order="mdy")]
)
@pytest.mark.parametrize("days_ago", [0, 1, 9, 200, 500])
def test_a_moment_is_read_as_it_is_shown(reader, days_ago, settings):
    settings.TIME_ZONE = "UTC"
    when = datetime.fromtimestamp(NOW.timestamp() - days_ago * 86_400 - 3_720, UTC)
    with written_for(reader):
        shown = say_moment(when, now=NOW)
        assert read_moment(shown, now=NOW, zone=ZoneInfo("UTC")) == when


def test_the_field_tells_the_reader_s_own_way():
    class When(forms.Form):
        at = MomentField(required=False)

    assert "21:40" in When()["at"].help_text
    with written_for(AMERICAN):
        assert "11/24/2026 9:40 pm" in When()["at"].help_text
