"""Deals of tasks to sessions, what they cost, and their changes."""

from hypothesis import given, settings
from hypothesis import strategies as st

from decaljobs.craft.plan.deal import DISLIKED
from decaljobs.craft.plan.dealends import Ends
from decaljobs.craft.plan.dealmoves import DealMoves
from decaljobs.craft.plan.moves import seeded
from tests.craft.plan.deals import (
    HIGH,
    deal_of,
    is_right,
    many_dealt,
    many_sessions,
    sessions_of,
)
from tests.craft.plans import after, due, task

DAY = 24 * 60


def test_late_projects_of_one_session_end_one_after_the_other():
    # From 19:00, both due at 19:00: the heavier of 60 minutes first, then the lighter of 30.
    tasks = [task("a", 60, project="p0"), task("b", 30, project="p1")]
    ends = Ends(sessions_of(tasks, [due("p0", 1, weight=3.0), due("p1", 1)]))
    assert ends.cost(0, 0b01) == 20 * 3 * 60
    assert ends.cost(0, 0b10) == 20 * 30
    assert ends.cost(0, 0b11) == 20 * (3 * 60 + 90)
    assert ends.cost(1, 0b10) == 20 * (30 + DAY)


def test_a_project_ends_when_its_last_task_does():
    tasks = [task("a", 60, project="p0"), task("b", 30, after("a", 12), project="p0")]
    deal = deal_of(sessions_of(tasks, [due("p0", 1)]), [0, 1])
    assert deal.cost == 20 * (DAY + 30) + (60 + DAY + 30)
    assert deal.change({1: 2}, float("inf"))
    assert deal.cost == 20 * (2 * DAY + 30) + (60 + 2 * DAY + 30)


def test_a_session_is_overfull_by_its_minutes_and_the_airbrush():
    tasks = [task("a", 100), task("b", 60, airbrush=True), task("c", 40, airbrush=True)]
    deal = deal_of(sessions_of(tasks), [0, 0, 0])
    assert deal.over == 100 + 60 + 40 + 30 - 180
    assert deal.change({2: 1}, float("inf"))
    assert deal.over == 100 + 60 + 30 - 180


def test_a_change_that_costs_too_much_is_not_made():
    tasks = [task("a", 100, project="p0"), task("b", 100, project="p1")]
    deal = deal_of(sessions_of(tasks, [due("p0", 99), due("p1", 99)]), [0, 1])
    known = (deal.place[:], deal.load[:], deal.cost)
    # The plan would end a day sooner, less 100 minutes, for 20 minutes too many at 100 each.
    saved = 2000 - (DAY - 100)
    assert not deal.change({1: 0}, saved - 1)
    assert (deal.place, deal.load, deal.cost) == known
    assert deal.change({1: 0}, saved)
    assert deal.over == 20


def test_overfull_sessions_become_dearer_and_others_cheaper_down_to_a_least():
    deal = deal_of(sessions_of([task("a", 100), task("b", 100)]), [0, 0])
    deal.lowest = 60.0
    deal.reprice(2.0, 0.5)
    assert deal.prices == [200.0, 60.0, 60.0, 60.0]


def test_what_is_disliked_counts_as_minutes_too_many_until_it_is_changed():
    deal = deal_of(sessions_of([task("a"), task("b")]), [0, 0])
    deal.dislike([0, 1])
    assert deal.over == DISLIKED
    assert deal.change({1: 1}, float("inf"))
    assert deal.over == 0


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 1000))
def test_changes_keep_the_account_waits_and_windows_and_reach_far(seed):
    """Whatever is changed or refused, it costs what a deal made anew would cost."""
    deal, met = many_dealt(many_sessions()), set()
    moves = DealMoves(deal, HIGH, seeded(seed))
    for number in range(150):
        changes = moves.draw()
        if changes:
            deal.change(changes, float("inf") if number % 3 else 0.0)
        assert is_right(deal)
        met.add(tuple(deal.place))
    assert len(met) > 20


def test_what_was_known_can_be_put_back():
    deal = many_dealt(many_sessions())
    known, place, cost = deal.known(), deal.place[:], deal.priced()
    assert deal.change({6: 3, 5: 2, 4: 1}, float("inf"))
    assert deal.place != place
    deal.put_back(known)
    assert (deal.place, deal.priced()) == (place, cost)
    assert is_right(deal)


def test_two_projects_change_places():
    tasks = [task("a", project="p0"), task("b", 30, after("a", 12), project="p0")]
    tasks += [task("c", project="p1"), task("d", 30, after("c", 12), project="p1")]
    deal = deal_of(sessions_of(tasks), [0, 1, 2, 3])
    draws = iter([0.0, 0.0, 0.9, 0.9])  # to exchange, of the first, with the last, all of it
    assert DealMoves(deal, [3] * 4, lambda: next(draws)).draw() == {0: 2, 1: 3, 2: 0, 3: 1}
