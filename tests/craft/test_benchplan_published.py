"""The planner on published problems, given as bench plans.

Two steps on two benches with a wait between: S. M. Johnson, Naval Research Logistics Quarterly 1,
1954, and L. G. Mitten, Management Science 5, 1959. Johnson's figures are a published exercise,
those with lags were worked by hand and are tried in all orders below.
One machine: J. E. Beasley's OR-Library, wt40.
"""

from datetime import timedelta
from itertools import permutations, product
from pathlib import Path

import pytest

from decaljobs.craft.benchplan import make_plan
from decaljobs.craft.plan.tasks import FixedWait, PlanInput, Project, Session, Task, Wait
from tests.benchmarks.plan_checks import faults
from tests.craft.plans import MINUTE, MONDAY, plan_input, task

FIRST, SECOND = (5, 1, 9, 3, 10), (2, 6, 7, 8, 4)
JOHNSON, MITTEN = (0, 0, 0, 0, 0), (7, 3, 0, 12, 5)
DAY_LONG = timedelta(days=1)
WT40 = Path(__file__).parents[2].parent / "shared" / "data" / "wt40"


def flow(lags):
    """Ada does the first step of five jobs, Ben the second once the lag is over."""
    tasks = []
    for job, (one, other, lag) in enumerate(zip(FIRST, SECOND, lags, strict=True), 1):
        wait = Wait(f"a{job}", FixedWait(lag * MINUTE))
        tasks.append(task(f"a{job}", one, project=f"{job}", makers=("Ada",)))
        tasks.append(task(f"b{job}", other, wait, project=f"{job}", makers=("Ben",)))
    sessions = [Session(maker, MONDAY, MONDAY + DAY_LONG) for maker in ("Ada", "Ben")]
    return plan_input(tasks, sessions)


def makespan(first, second, lags):
    """Minutes until all is done when both benches keep these orders."""
    clock, done = 0, {}
    for job in first:
        clock += FIRST[job]
        done[job] = clock + lags[job]
    clock = 0
    for job in second:
        clock = max(clock, done[job]) + SECOND[job]
    return clock


def by_rule(lags):
    """Mitten's order: a ≤ b by rising a + lag, then the rest by falling b + lag."""
    jobs = range(len(FIRST))
    rising = [job for job in jobs if FIRST[job] <= SECOND[job]]
    falling = [job for job in jobs if FIRST[job] > SECOND[job]]
    rising.sort(key=lambda job: FIRST[job] + lags[job])
    falling.sort(key=lambda job: -SECOND[job] - lags[job])
    return (*rising, *falling)


def test_the_rules_give_the_orders_that_were_published():
    johnson, mitten = by_rule(JOHNSON), by_rule(MITTEN)
    assert [job + 1 for job in johnson] == [2, 4, 3, 5, 1]
    assert [job + 1 for job in mitten] == [2, 4, 1, 5, 3]
    assert makespan(johnson, johnson, JOHNSON) == 30
    assert makespan(mitten, mitten, MITTEN) == 37
    orders = list(permutations(range(len(FIRST))))
    assert min(makespan(order, order, MITTEN) for order in orders) == 37


@pytest.mark.parametrize("lags, minutes", [(JOHNSON, 30), (MITTEN, 36)], ids=["1954", "1959"])
def test_it_reaches_the_best_of_all_orders_on_two_benches(lags, minutes):
    # With lags, another order at the second bench saves a minute on Mitten's 37.
    orders = list(permutations(range(len(FIRST))))
    assert min(makespan(one, other, lags) for one, other in product(orders, orders)) == minutes
    given = flow(lags)
    plan = make_plan(given, iterations=4000)
    assert faults(given, plan) == []
    assert max(placed.end for placed in plan.tasks) - MONDAY == minutes * MINUTE


def one_machine(processing, weights, dues):
    jobs = range(len(processing))
    moment = MONDAY
    projects = tuple(
        Project(f"{job}", due=moment + dues[job] * MINUTE, weight=weights[job]) for job in jobs
    )
    tasks = tuple(Task(f"{job}", f"{job}", "job", processing[job]) for job in jobs)
    whole = Session("Ada", moment, moment + sum(processing) * MINUTE)
    return PlanInput(moment, tasks, projects, (whole,))


@pytest.mark.skipif(
    not WT40.is_dir(), reason="the public one-machine instances are not at ../shared/data/wt40"
)
@pytest.mark.parametrize("number, optimum", [*enumerate([913, 1225, 537, 2094, 990])])
def test_it_reaches_the_optimum_on_one_machine(number, optimum):
    lines = (WT40 / "instances.txt").read_text().splitlines()[3 * number : 3 * number + 3]
    given = one_machine(*([int(figure) for figure in line.split()] for line in lines))
    plan = make_plan(given, iterations=800)
    assert faults(given, plan) == []
    tardiness = sum(end.project.weight * end.late_minutes for end in plan.ends)
    assert tardiness == optimum
