"""Small plans against every order there is, and against a proof.

The orders are tried by tests/benchmarks/brute_plan.py, which shares nothing with the planner;
the proof is CP-SAT's of OR-tools.
"""

import pytest

from decaljobs.craft.benchplan import make_plan
from tests.benchmarks.brute_plan import EveryOrder
from tests.benchmarks.made_up_plans import made_up_plan
from tests.benchmarks.plan_checks import faults
from tests.craft.plans import after, due, evening, plan_input, task


@pytest.mark.parametrize("seed", range(12))
def test_it_finds_the_best_of_all_orders(seed):
    given = made_up_plan(seed, 2, 5, haste=1.0 if seed % 2 else 0.0)
    plan = make_plan(given, iterations=3000)
    assert faults(given, plan) == []
    assert plan.objective == EveryOrder(given).best


def test_every_order_tries_to_keep_the_airbrush_in():
    # Spraying tonight ends first's evening, but tomorrow the airbrush comes out anyway.
    tasks = [
        task("cut", 10),
        task("first", 10, after("cut", 12), airbrush=True),
        task("other", 10, project="tram", airbrush=True),
    ]
    given = plan_input(tasks, projects=[due("boat", 100), due("tram", 100)])
    assert EveryOrder(given).best == 25 * 60 + 15 + 20 + 60
    assert make_plan(given, iterations=300).objective == EveryOrder(given).best


def test_every_order_uses_idle_time_for_the_set_up():
    tasks = [task("cut", 30), task("seal", 30, after("cut", 1), airbrush=True)]
    given = plan_input(tasks, [evening()])
    assert EveryOrder(given).best == 60 + 30 + 60 + 30 + 60


@pytest.mark.parametrize("seed, projects, tasks_each", [(1, 2, 6), (2, 3, 3), (3, 2, 7)])
def test_every_order_agrees_with_a_proof(seed, projects, tasks_each):
    from tests.benchmarks.exact_plan import ExactPlan

    given = made_up_plan(seed, projects, tasks_each, haste=1.0)
    proof = ExactPlan(given).solve(30)
    assert proof.proved
    assert EveryOrder(given).best == proof.objective
