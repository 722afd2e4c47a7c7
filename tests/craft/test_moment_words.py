from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from decaljobs.craft.moment_words import cut_tenths, moment_words, whole_minute

LONDON = ZoneInfo("Europe/London")
NOW = datetime(2026, 7, 1, 20, tzinfo=UTC)
HOUR = timedelta(hours=1)


def test_it_tells_a_moment_by_the_workshops_clock():
    assert moment_words(NOW + 8 * HOUR, NOW, LONDON) == "Thu 05:00"


def test_it_leaves_out_a_day_named_just_before():
    ready = NOW + 9 * HOUR
    assert moment_words(ready - HOUR, NOW, LONDON, beside=ready) == "05:00"
    assert moment_words(ready + 24 * HOUR, NOW, LONDON, beside=ready) == "Fri 06:00"


def test_it_adds_the_date_beyond_six_days():
    assert moment_words(NOW + timedelta(days=6), NOW, LONDON) == "Tue 21:00"
    assert moment_words(NOW + timedelta(days=7), NOW, LONDON) == "Wed 8 Jul 21:00"
    assert moment_words(NOW - timedelta(days=7), NOW, LONDON) == "Wed 24 Jun 21:00"


def test_it_names_the_zone_in_the_hour_that_comes_twice():
    first = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert moment_words(first, first, LONDON) == "Sun 01:30 BST"
    assert moment_words(first + HOUR, first, LONDON) == "Sun 01:30 GMT"
    assert moment_words(first + 2 * HOUR, first, LONDON) == "Sun 02:30"


def test_it_never_tells_a_minute_too_early():
    assert whole_minute(NOW + timedelta(microseconds=1)) == NOW + timedelta(minutes=1)
    assert whole_minute(NOW) == NOW
    almost = datetime(2026, 7, 1, 22, 59, 30, tzinfo=UTC)
    assert moment_words(almost, NOW, LONDON) == "Thu 00:00"


@pytest.mark.parametrize(
    ("value", "said"), [(7.449, "7.4"), (11.999, "11.9"), (12.0, "12"), (0.3, "0.3"), (0, "0")]
)
def test_it_cuts_to_tenths(value, said):
    assert cut_tenths(value) == said
