"""Plans of many projects, found by dealing."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decaljobs.craft.benchplan import make_plan
from decaljobs.craft.plan.budget import Budget
from decaljobs.craft.plan.deal import Deal
from decaljobs.craft.plan.dealing import COLD, MOST_TASKS, Dealer, can_deal
from decaljobs.craft.plan.guide import Guide
from decaljobs.craft.plan.moves import seeded
from decaljobs.craft.plan.packing import Sessions
from tests.benchmarks.made_up_plans import made_up_plan
from tests.benchmarks.plan_checks import faults
from tests.craft.plan.deals import (
    is_heavy_in_time,
    light_and_heavy,
    tasks_of,
    timeline_of,
    two_full_evenings,
)
from tests.craft.plans import after, due, evening, task


def dealer_of(timeline):
    return Dealer(timeline, Guide.of(timeline.model), seeded(1))


def test_it_finds_the_plan_in_which_nothing_is_late():
    dealer = dealer_of(two_full_evenings())
    assert dealer.best.tardiness > 0
    dealer.run(Budget(0.0, 200))
    assert dealer.best.tardiness == 0
    assert dealer.tries == 200


def test_it_lets_the_heavier_of_two_be_in_time():
    dealer = dealer_of(light_and_heavy())
    dealer.run(Budget(0.0, 200))
    assert is_heavy_in_time(dealer.best)


def test_what_cannot_be_put_in_order_is_disliked():
    # Both fit by their minutes, but with the wait between they take 210 of the evening's 180.
    tasks = [task("a", 60, project="p0"), task("b", 60, after("a", 1.5), project="p1")]
    dealer = dealer_of(timeline_of(tasks))
    dealer.deal.place[:] = [0, 0]
    dealer._put_in_order([0, 0])
    assert list(dealer.deal.disliked) == [0b11]


def overfull_dealer():
    """100 + 90 minutes in the first evening, 30 in the next, nothing in two more."""
    tasks = tasks_of(90, 30, 100)
    dealer = dealer_of(timeline_of(tasks, sessions=[evening(day, end=23.0) for day in range(4)]))
    dealer.deal = Deal(
        Sessions(timeline_of(tasks).model), [0, 1, 0], dealer.guide, dealer.deal.prices[0]
    )
    dealer.deal.lowest = 0.0
    assert dealer.deal.excess == [10, 0, 0, 0]
    return dealer


def repriced(share, followed=0.0):
    """By how much prices are multiplied in a hundredth of the time."""
    dealer = overfull_dealer()
    before, dealer.over = dealer.deal.prices[:], followed
    dealer._reprice(share, 0.01)
    return [after / was for after, was in zip(dealer.deal.prices, before, strict=True)]


def test_prices_rise_where_it_is_overfull_and_fall_elsewhere():
    overfull, *others = repriced(0.5)
    assert overfull > 1 > max(others)


def test_the_more_there_is_too_much_the_more_prices_rise_and_the_less_they_fall():
    few, many = repriced(0.5), repriced(0.5, followed=300.0)
    assert many[0] > few[0] and many[1] > few[1]


def test_prices_fall_less_and_less():
    assert repriced(0.1)[1] < repriced(0.5)[1] < repriced(0.9)[1] < 1


def test_at_the_end_all_prices_rise_as_long_as_a_session_is_overfull():
    assert min(repriced(0.99)) > 1
    dealer = overfull_dealer()
    dealer.deal.change({0: 2}, float("inf"))
    before = dealer.deal.prices[:]
    dealer._reprice(0.99, 0.01)
    assert dealer.deal.prices == before


def test_temperatures_follow_prices_until_deals_settle():
    dealer = overfull_dealer()
    warm = dealer._temperatures(0.5)
    dealer.deal.prices = [2 * price for price in dealer.deal.prices]
    assert dealer._temperatures(0.5) == pytest.approx([2 * each for each in warm])
    last = dealer._temperatures(0.9199)[0]
    assert dealer._temperatures(0.92)[0] == pytest.approx(last, rel=0.01)
    assert dealer._temperatures(1.0)[0] == pytest.approx(COLD * dealer.delay)


def test_a_pinned_task_stays_in_its_session():
    tasks = tasks_of(30, 30, 30)
    tasks.append(task("pin", 30, project="p3", pinned_session=evening(2)))
    dealer = dealer_of(timeline_of(tasks, [due(f"p{n}", 4) for n in range(4)]))
    dealer.run(Budget(0.0, 100))
    assert dealer.best.slots.place[3].session == 2
    assert dealer.deal.place[3] == 2


@pytest.mark.parametrize(
    ("tasks", "sessions"),
    [
        (tasks_of(30), None),
        (tasks_of(*[1] * (MOST_TASKS + 1)), None),
        (tasks_of(30, 30), [evening()]),
        (tasks_of(30, 30), [evening(), evening(1), evening(maker="Ben"), evening(2)]),
        (tasks_of(100, 100, 100), [evening(), evening(1, end=20.0)]),
    ],
    ids=["one project", "too many tasks", "one session", "two makers", "no room"],
)
def test_nothing_is_dealt_in_plans_of_another_form(tasks, sessions):
    assert not can_deal(timeline_of(tasks, sessions=sessions))


def test_work_of_several_projects_is_dealt():
    assert can_deal(timeline_of(tasks_of(30, 30)))


@settings(deadline=None, max_examples=12)
@given(st.integers(0, 10**6), st.integers(9, 14), st.integers(20, 200), st.booleans())
def test_every_plan_keeps_every_rule(seed, projects, iterations, pinned):
    asked = made_up_plan(seed, projects, 10, haste=1.0)
    if pinned:
        first, *others = asked.tasks
        session = asked.sessions[seed % 3]
        asked = replace(asked, tasks=(replace(first, pinned_session=session), *others))
    plan = make_plan(asked, iterations=iterations, seed=seed)
    assert faults(asked, plan) == []
    assert plan.objective <= plan.first_objective
    assert make_plan(asked, iterations=iterations, seed=seed) == plan


def test_many_projects_are_planned_far_better_than_by_the_first_rule():
    asked = made_up_plan(2, 12, 10, haste=1.0)
    plan = make_plan(asked, iterations=1500)
    assert plan.objective < 0.5 * plan.first_objective
