"""Waits as the planner asks for them, against the drying clock asked directly."""

from datetime import UTC, datetime, timedelta

import pytest

from decaljobs.craft.climate import Clock
from decaljobs.craft.drying import WaitTerms, ready_at
from decaljobs.craft.plan.waits import Drying, Never, Until
from decaljobs.craft.room.air import Air

START = datetime(2026, 11, 2, 19, 7, tzinfo=UTC)
BASE = WaitTerms(12, 8, Clock.WATER_UNDER_FILM)
REST = WaitTerms(24, 12, Clock.WATER)
COOL = Air.steady(14, 60)


def test_it_answers_what_the_drying_clock_answers_minute_by_minute():
    drying = Drying((BASE,), COOL)
    for minutes in (0, 1, 59, 60, 61, 700):
        start = START + timedelta(minutes=minutes)
        assert drying(start) == ready_at(BASE, COOL, start)


def test_waits_run_one_after_the_other():
    over = ready_at(REST, COOL, ready_at(BASE, COOL, START))
    assert Drying((BASE, REST), COOL)(START) == over


def test_it_never_ends_where_one_of_the_waits_never_does():
    assert Drying((BASE, REST), Air.steady(4, 60))(START) is None


def test_a_later_beginning_never_gives_an_earlier_end():
    drying = Drying((BASE,), COOL)
    ends = [drying(START + timedelta(minutes=minutes)) for minutes in range(0, 300, 7)]
    assert ends == sorted(ends)


def test_the_same_terms_in_the_same_air_are_one_wait_to_a_planner():
    assert len({Drying((BASE,), COOL), Drying((BASE,), COOL), Drying((REST,), COOL)}) == 2
    assert Drying((BASE,), COOL) != Drying((BASE,), Air.steady(14, 60))


@pytest.mark.parametrize(("hours", "over"), [(-1, 0), (5, 5)])
def test_a_wait_that_runs_ends_at_its_moment_or_is_over(hours, over):
    assert Until(START + timedelta(hours=hours))(START) == START + timedelta(hours=over)
    assert Never()(START) is None
