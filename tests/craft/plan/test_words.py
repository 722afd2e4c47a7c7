from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from decaljobs.craft.plan.words import listed, moment_in_words, with_moments
from tests.craft.plans import MONDAY

LONDON = ZoneInfo("Europe/London")


@pytest.mark.parametrize(
    "days, words",
    [
        (-1, "Sun 1 Mar 18:00"),
        (0, "Mon 18:00"),
        (6, "Sun 18:00"),
        (7, "Mon 9 Mar 18:00"),
        (27, "Sun 29 Mar 19:00"),
    ],
)
def test_it_gives_the_date_where_the_weekday_is_not_clear(days, words):
    assert moment_in_words(MONDAY + timedelta(days=days), MONDAY, LONDON) == words


@pytest.mark.parametrize(
    "names, words",
    [
        ([], ""),
        (["wing"], "wing"),
        (["wing", "tail"], "wing and tail"),
        (["wing", "tail", "nose"], "wing, tail and nose"),
        (["wing", "tail", "nose", "fin", "door"], "wing, tail, nose and 2 more"),
    ],
)
def test_it_lists_names_in_a_row(names, words):
    assert listed(names) == words


def test_a_moment_without_a_zone_is_said_by_whoever_reads_it():
    words = (
        f"dries until {moment_in_words(MONDAY, MONDAY, None)}, ‘⟨1⟩ ⟨2026-99-99T00:00:00+00:00⟩’"
    )
    said = with_moments(words, "{:%a %H:%M}".format, "{:%a}".format)
    assert said == f"dries until {MONDAY:%a %H:%M}, ‘⟨1⟩ ⟨2026-99-99T00:00:00+00:00⟩’"
