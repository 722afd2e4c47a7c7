"""Promises kept: packings in order become plans."""

from hypothesis import given, settings
from hypothesis import strategies as st

from decaljobs.craft.benchplan import make_plan
from decaljobs.craft.plan.budget import Budget
from decaljobs.craft.plan.guide import Guide
from decaljobs.craft.plan.keeping import BATCH, Keeper
from decaljobs.craft.plan.model import benches_of, build_model
from decaljobs.craft.plan.moves import seeded
from decaljobs.craft.plan.search import FEW_TASKS
from decaljobs.craft.plan.timeline import Timeline
from tests.benchmarks.made_up_plans import made_up_plan
from tests.benchmarks.plan_checks import faults
from tests.craft.plans import due, evening, plan_input, task


def keeper_of(tasks, projects, order):
    asked = plan_input(tasks, [evening(day) for day in range(4)], projects)
    model = build_model(asked, asked.tasks, benches_of(asked.moment, asked.sessions))
    guide = Guide.of(model)
    return Keeper(Timeline(model, order, guide=guide), guide, seeded(1))


def tasks_of(*minutes):
    return [task(f"t{n}", length, project=f"p{n}") for n, length in enumerate(minutes)]


def test_it_finds_the_plan_that_keeps_the_best_promise():
    # 100 + 80 in the first evening, 120 + 60 in the next; any other pairing needs three.
    projects = [due("p0", 4), due("p2", 4), due("p1", 28), due("p3", 28)]
    keeper = keeper_of(tasks_of(100, 60, 80, 120), projects, [0, 1, 2, 3])
    assert keeper.best.tardiness > 0
    keeper.run(Budget(0.0, 400))
    assert keeper.best.tardiness == 0
    assert keeper.tries <= 400 + BATCH  # nobody looks up within a batch


def test_it_tries_to_be_done_a_session_sooner_where_nothing_is_late():
    # 100 + 60 leave 20 minutes idle and need a third evening; 100 + 80 and 120 + 60 need two.
    keeper = keeper_of(tasks_of(100, 60, 80, 120), [due(f"p{n}", 100) for n in range(4)], range(4))
    assert max(keeper.best.project_end) > 48 * 60
    keeper.run(Budget(0.0, 400))
    assert max(keeper.best.project_end) == 28 * 60  # the second evening's end


def test_it_stops_when_nothing_better_can_be_promised():
    keeper = keeper_of(tasks_of(60, 60), [due("p0", 9), due("p1", 9)], [0, 1])
    keeper.run(Budget(0.0, 10**6))
    assert keeper.tries < 1000
    assert keeper.best.cost == 180


@settings(deadline=None, max_examples=25)
@given(st.integers(0, 10**6), st.integers(2, 6), st.floats(0, 1), st.integers(20, 600))
def test_every_plan_keeps_every_rule(seed, projects, haste, iterations):
    asked = made_up_plan(seed, projects, 10, haste)
    assert projects * 10 >= FEW_TASKS
    plan = make_plan(asked, iterations=iterations, seed=seed)
    assert faults(asked, plan) == []
    assert plan.objective <= plan.first_objective
    assert make_plan(asked, iterations=iterations, seed=seed) == plan
