"""Moments as they are said, across the night in which the clocks go back."""

from datetime import UTC, datetime

import pytest

from decaljobs.services.words import say_moment

NOW = datetime(2026, 10, 24, 20, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("hour", "minute", "said"),
    [
        (23, 30, "tomorrow 00:30"),
        (0, 30, "tomorrow 01:30 BST"),
        (1, 30, "tomorrow 01:30 GMT"),
        (2, 0, "tomorrow 02:00"),
    ],
)
def test_the_hour_that_comes_twice_is_told_apart_by_its_zone(hour, minute, said):
    """The clocks of Europe/London went back at 01:00 UTC on 25 October 2026 (tz database)."""
    day = 24 if hour == 23 else 25
    assert say_moment(datetime(2026, 10, day, hour, minute, tzinfo=UTC), now=NOW) == said


def test_the_hour_after_the_gap_in_spring_is_told_without_a_zone():
    now = datetime(2026, 3, 28, 20, 0, tzinfo=UTC)
    assert say_moment(datetime(2026, 3, 29, 1, 30, tzinfo=UTC), now=now) == "tomorrow 02:30"


def test_paper_leaves_out_what_is_true_today_alone():
    when = datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    assert say_moment(when, now=NOW, near=False) == "Sun 25 Oct 01:30 GMT"
