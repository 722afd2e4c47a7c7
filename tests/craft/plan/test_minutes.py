"""Minutes learned from logs: medians worked out by hand."""

from datetime import UTC, datetime, timedelta

from decaljobs.craft.doings import Doing
from decaljobs.craft.plan.minutes import Learned, Mark, learned_minutes

START = datetime(2026, 11, 2, 19, tzinfo=UTC)


def log(*gaps, doing=Doing.BASE):
    marks, at = [Mark(START, doing)], START
    for gap in gaps:
        at += timedelta(minutes=gap)
        marks.append(Mark(at, doing))
    return marks


def test_it_takes_the_median_of_the_gaps():
    # 10, 11, 12, 30, 40: the third is 12
    assert learned_minutes([log(40, 10, 12, 11, 30)]) == {Doing.BASE: Learned(12, 5)}


def test_four_gaps_teach_nothing():
    assert learned_minutes([log(10, 10, 10, 10)]) == {}


def test_a_break_of_more_than_ninety_minutes_was_not_work():
    assert learned_minutes([log(10, 10, 91, 10, 10)]) == {}
    assert learned_minutes([log(10, 10, 90, 10, 10)])[Doing.BASE].gaps == 5


def test_lines_of_one_moment_share_the_time_before_them():
    marks = [Mark(START, Doing.BASE)]
    marks += [
        Mark(START + timedelta(minutes=30 * n), Doing.BASE) for n in range(1, 6) for _ in range(3)
    ]
    assert learned_minutes([marks])[Doing.BASE].minutes == 10


def test_two_kinds_at_one_moment_teach_nothing():
    both = [
        Mark(START + timedelta(minutes=20 * n), doing)
        for n in range(7)
        for doing in (Doing.BASE, Doing.CLEAR)
    ]
    assert learned_minutes([both]) == {}


def test_the_gap_goes_to_what_was_logged_at_its_end():
    marks = [
        Mark(START + timedelta(minutes=20 * n), Doing.CLEAR if n % 2 else Doing.BASE)
        for n in range(11)
    ]
    found = learned_minutes([marks])
    assert {doing: learned.gaps for doing, learned in found.items()} == {
        Doing.CLEAR: 5,
        Doing.BASE: 5,
    }


def test_overcoats_are_not_learned_for_the_maker_may_have_waited():
    assert learned_minutes([log(*[30] * 8, doing=Doing.OVERCOAT)]) == {}


def test_each_maker_has_a_log_of_their_own():
    # Side by side the two would seem to take a minute each.
    other = [Mark(mark.at + timedelta(minutes=1), mark.doing) for mark in log(*[20] * 5)]
    assert learned_minutes([log(*[20] * 5), other])[Doing.BASE] == Learned(20, 10)
