"""Promised sessions for the ends of projects, and plans that keep them."""

import pytest

from decaljobs.craft.planbudget import Budget
from decaljobs.craft.planguide import Guide
from decaljobs.craft.planmodel import benches_of, build_model
from decaljobs.craft.planmoves import seeded
from decaljobs.craft.planpromises import MOST_PROJECTS, Promises, can_promise
from decaljobs.craft.plansearch import BATCH
from decaljobs.craft.plantimeline import Timeline
from tests.craft.plans import due, evening, plan_input, task


def model_of(tasks, projects, sessions=None):
    given = plan_input(tasks, sessions or [evening(day) for day in range(4)], projects)
    return build_model(given, given.tasks, benches_of(given.moment, given.sessions))


def promises_of(model, order):
    guide = Guide.of(model)
    return Promises(Timeline(model, order, guide=guide), guide, seeded(1))


def tasks_of(*minutes):
    return [task(f"t{n}", length, project=f"p{n}") for n, length in enumerate(minutes)]


def test_promises_come_cheapest_first_and_only_below_the_best_plan():
    projects = [due("p0", 2, weight=3.0), due("p1", 2)]
    promises = promises_of(model_of(tasks_of(100, 100), projects), [1, 0])
    met = list(promises.cheapest_first())
    sums = [promises._sum(promised) for promised in met]
    assert met[0] == (0, 0)
    assert sums == sorted(sums)
    assert len(met) == len(set(met))
    assert sums[-1] < promises.best.cost
    assert met.index((0, 1)) < met.index((1, 0))  # the heavier is the dearer to put off
    assert (1, 1) not in met  # both late costs more than the plan known


def test_a_project_that_is_not_late_is_promised_as_late_as_may_be():
    promises = promises_of(model_of(tasks_of(30), [due("p0", 60)]), [0])
    assert next(promises.cheapest_first()) == (2,)  # Wednesday 19:30; it is due at six next day


def test_it_finds_the_plan_that_keeps_the_best_promise():
    # 100 + 80 in the first evening, 120 + 60 in the next; any other pairing needs three.
    projects = [due("p0", 4), due("p2", 4), due("p1", 28), due("p3", 28)]
    model = model_of(tasks_of(100, 60, 80, 120), projects)
    promises = promises_of(model, [0, 1, 2, 3])
    assert promises.best.tardiness > 0
    promises.run(Budget(0.0, 400))
    assert promises.best.tardiness == 0
    assert promises.tries <= 400 + BATCH  # nobody looks up within a batch


def test_it_tries_to_be_done_a_session_sooner_where_nothing_is_late():
    # 100 + 60 leave 20 minutes idle and need a third evening; 100 + 80 and 120 + 60 need two.
    projects = [due(f"p{n}", 100) for n in range(4)]
    promises = promises_of(model_of(tasks_of(100, 60, 80, 120), projects), [0, 1, 2, 3])
    assert max(promises.best.project_end) > 48 * 60
    promises.run(Budget(0.0, 200))
    assert max(promises.best.project_end) == 28 * 60  # the second evening's end


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
