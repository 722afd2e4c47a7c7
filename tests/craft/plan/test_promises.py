"""Promised sessions for the ends of projects."""

import pytest

from decaljobs.craft.plan.model import benches_of, build_model
from decaljobs.craft.plan.promises import MOST_PROJECTS, Promises, can_promise
from tests.craft.plans import due, evening, plan_input, task

DAY = 24 * 60


def model_of(tasks, projects, sessions=None):
    given = plan_input(tasks, sessions or [evening(day) for day in range(4)], projects)
    return build_model(given, given.tasks, benches_of(given.moment, given.sessions))


def tasks_of(*minutes, **more):
    return [task(f"t{n}", length, project=f"p{n}", **more) for n, length in enumerate(minutes)]


def test_promises_come_cheapest_first_and_only_below_the_bound():
    projects = [due("p0", 2, weight=3.0), due("p1", 2)]
    promises = Promises(model_of(tasks_of(100, 100), projects))
    # p0 100 minutes late today or a day more, at 60 a minute; p1 as much at 20.
    below = 60 * 40 + 20 * (40 + DAY) + 1
    met = list(promises.cheapest_first(below))
    assert met == [(60 * 40 + 20 * 40, (0, 0)), (below - 1, (0, 1))]
    dearer = [ends for _, ends in promises.cheapest_first(10 * below)]
    assert dearer.index((0, 1)) < dearer.index((1, 0))  # the heavier is the dearer to put off
    assert len(set(dearer)) == len(dearer)


def test_a_project_that_is_not_late_is_promised_as_late_as_may_be():
    promises = Promises(model_of(tasks_of(30), [due("p0", 60)]))
    # Due on Wednesday at six in the morning after it: the third evening is the last in time.
    assert next(promises.cheapest_first(1.0)) == (0.0, (2,))


def test_late_projects_of_one_session_end_one_after_the_other():
    projects = [due("p0", 1, weight=2.0), due("p1", 1)]
    promises = Promises(model_of(tasks_of(30, 60), projects))
    # One behind the other they end 30 and 90 minutes late, the shorter and heavier one first.
    best = 20 * (2 * 30 + 90) + 90 + 60
    assert promises.better_than(best - 60) == []
    assert {draft.ends for draft in promises.better_than(best + 100)} == {(0, 0)}


def test_fewer_sessions_of_spraying_let_a_plan_end_later():
    # Each spraying costs 60; one alone lets it end no later than two, at the first evening's end.
    promises = Promises(model_of(tasks_of(30, 30, airbrush=True), [due("p0", 99), due("p1", 99)]))
    found = [(draft.sprayed, draft.until) for draft in promises.better_than(400.0)]
    assert found == [(4, 159), (3, 219), (2, 279)]


def test_what_may_still_be_lost_limits_the_ends():
    promises = Promises(model_of(tasks_of(30, 30), [due("p0", 1), due("p1", 99)]))
    # p0 ends at 19:30, 30 minutes late at 20 each. 100 more than that and the soonest end, which
    # is 60 after the moment, leave it 5 minutes.
    draft, *_ = promises.better_than(600 + 60 + 100)
    assert promises.made(draft).limits[0] == 60 + 30 + 5


def test_what_cannot_be_kept_is_no_promise():
    # 100 + 100 minutes do not fit into the first evening's 180.
    promises = Promises(model_of(tasks_of(100, 100), [due("p0", 4), due("p1", 4)]))
    draft, *_ = promises.better_than(1000)
    assert draft.ends == (0, 0)
    assert promises.made(draft) is None


@pytest.mark.parametrize(
    ("tasks", "sessions"),
    [
        (tasks_of(30), None),
        (tasks_of(*[30] * (MOST_PROJECTS + 1)), None),
        (tasks_of(30, 30), [evening()]),
        (tasks_of(30, 30), [evening(), evening(1), evening(maker="Ben"), evening(2)]),
        ([*tasks_of(30), task("t1", 30, project="p1", pinned_session=evening(1))], None),
    ],
    ids=["one project", "many projects", "one session", "two makers", "a pin"],
)
def test_nothing_is_promised_in_plans_of_another_form(tasks, sessions):
    assert not can_promise(model_of(tasks, [], sessions))


def test_few_projects_of_one_maker_are_promised():
    assert can_promise(model_of(tasks_of(30, 30), []))
