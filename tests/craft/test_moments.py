from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from decaljobs.craft.moments import moment_words, utc_offsets, whole_minute

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


@pytest.mark.parametrize("zone", ["Europe/London", "Asia/Kathmandu", "America/New_York"])
def test_it_finds_offsets_as_the_zone_does(zone):
    zone = ZoneInfo(zone)
    hours = datetime(2026, 1, 1, tzinfo=UTC).timestamp() + np.arange(8760) * 3600.0
    wanted = [
        datetime.fromtimestamp(s, UTC).astimezone(zone).utcoffset().total_seconds() for s in hours
    ]
    assert utc_offsets(zone, hours).tolist() == wanted
