"""How good bench plans are, and how soon: `python -m tests.benchmarks.benchplan [PART ...]`.

small      40 plans of 10 to 12 tasks, 0.5 s each, against every order there is (some minutes)
five       5 projects, 1 s, against CP-SAT's proved optimum (OR-tools), in three degrees of haste
twenty     20 projects of 200 tasks, 5 s, against CP-SAT begun with our plan and given 60 s more,
           and against 60 s of the planner's own, since CP-SAT's bound is far away at this size
hundred    100 projects of 1,000 tasks: the first plan's time, and what 10 s more make of it

The planner's seconds are the processor's, so that a busy machine does not blur them. In twenty they
are the clock's, as those of CP-SAT are, and both search on as many processors. Every plan is
checked for overlaps, waits, sessions and the airbrush.
"""

from __future__ import annotations

import time
from argparse import ArgumentParser
from statistics import fmean

from decaljobs.craft.benchplan import make_plan
from decaljobs.craft.plan.tasks import Plan, PlanInput
from decaljobs.services.plan.searches import searched
from tests.benchmarks.brute_plan import EveryOrder
from tests.benchmarks.figures import Figure, tell
from tests.benchmarks.made_up_plans import made_up_plan
from tests.benchmarks.plan_checks import faults

SMALL = ((2, 5), (2, 6), (3, 4))  # projects, tasks each
HASTES = {"leisurely": 0.0, "usual": 0.5, "hurried": 1.0}
PROOF_SECONDS, WARM_SECONDS, LONG_SECONDS, WORKERS = 180, 60, 60, 2


def planned(given: PlanInput, seconds: float) -> Plan:
    """A plan of one search, in seconds of the processor."""
    return checked(given, make_plan(given, seconds=seconds, clock=time.process_time))


def checked(given: PlanInput, plan: Plan) -> Plan:
    """The plan, which keeps all rules and leaves nothing out."""
    assert not faults(given, plan), faults(given, plan)
    assert not plan.unplanned
    return plan


def small(plans: int) -> None:
    met = 0
    for seed in range(plans):
        projects, tasks_each = SMALL[seed % len(SMALL)]
        given = made_up_plan(seed, projects, tasks_each, haste=float(seed % 2))
        found, best = planned(given, 0.5).objective, EveryOrder(given).best
        met += found == best
        print(f"  {seed:2} {projects} × {tasks_each} found {found:g}, best {best:g}", flush=True)
    said = f"small plans as good as the best of all orders, of {plans}, 0.5 s each"
    tell(Figure(said, met, "", plans, more=True))


def five(plans: int) -> None:
    from tests.benchmarks.exact_plan import ExactPlan

    every = []
    for name, haste in HASTES.items():
        gaps = []
        for seed in range(1, plans + 1):
            given = made_up_plan(seed, 5, 10, haste)
            found = planned(given, 1.0).objective
            proof = ExactPlan(given).solve(PROOF_SECONDS, WORKERS)
            if not proof.proved:
                print(f"  {name} {seed:2}: no proof in {PROOF_SECONDS} s, left out")
                continue
            gaps.append(100 * (found / proof.objective - 1))
            print(
                f"  {name} {seed:2} found {found:g}, best {proof.objective:g}, "
                f"gap {gaps[-1]:.2f} %",
                flush=True,
            )
        every += gaps
        print(f"five, {name}: {_summary(gaps)}", flush=True)
    print(f"five: {_summary(every)}, 1 s each")
    said = f"five projects, mean gap to the proved best of {len(every)}, 1 s each"
    tell(Figure(said, fmean(every), "%", 1, 0.5))


def _summary(gaps: list[float]) -> str:
    met = sum(abs(gap) < 1e-6 for gap in gaps)
    return f"mean gap {fmean(gaps):.2f} %, optimal {met} of {len(gaps)}"


def twenty(plans: int) -> None:
    from tests.benchmarks.exact_plan import ExactPlan

    gaps, own = [], []
    for seed in range(1, plans + 1):
        given = made_up_plan(seed, 20, 10, haste=1.0)
        plan = checked(given, searched(given, seconds=5.0, most=WORKERS))
        exact = ExactPlan(given)
        exact.hint({placed.task.id: placed.start for placed in plan.tasks})
        known = exact.solve(WARM_SECONDS, WORKERS)
        best = min(known.objective, plan.objective)
        gaps.append(100 * (plan.objective / best - 1))
        longer = min(best, planned(given, LONG_SECONDS).objective)
        own.append(100 * (plan.objective / longer - 1))
        print(
            f"  {seed} first {plan.first_objective:g}, found {plan.objective:g}, CP-SAT "
            f"{known.objective:g} (bound {known.bound:g}), gap {gaps[-1]:.2f} %; "
            f"best known {longer:g}, gap {own[-1]:.2f} %",
            flush=True,
        )
    print(f"twenty: against CP-SAT {_summary(gaps)}, against the best known {_summary(own)}")
    for whom, off in (("CP-SAT begun with it and 60 s more", gaps), ("the best known", own)):
        said = f"twenty projects, mean gap of {plans} to {whom}, 5 s each"
        tell(Figure(said, fmean(off), "%", 5, 1))


def hundred(plans: int) -> None:
    firsts, gains = [], []
    for seed in range(1, plans + 1):
        given = made_up_plan(seed, 100, 10, haste=1.0)
        began = time.process_time()
        first = make_plan(given, iterations=0)
        taken = time.process_time() - began
        better = planned(given, 10.0)
        firsts.append(taken)
        gains.append(100 * (1 - better.objective / first.objective))
        print(
            f"  {seed} first {first.objective:g} in {taken:.2f} s, after 10 s "
            f"{better.objective:g}: {gains[-1]:.1f} % better",
            flush=True,
        )
    tell(Figure("a hundred projects, slowest first plan", max(firsts), "s of processor", 1, 0.3))
    said = f"a hundred projects, least gain of {plans} in 10 s"
    tell(Figure(said, min(gains), "%", 20, more=True))


def main() -> None:
    parts = {"small": small, "five": five, "twenty": twenty, "hundred": hundred}
    plans = {"small": 40, "five": 14, "twenty": 4, "hundred": 3}
    asked = ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("parts", nargs="*", metavar="PART", help=f"of {', '.join(parts)}; all")
    asked.add_argument("--plans", type=int, help="how many plans of each size are made")
    options = asked.parse_args()
    if unknown := set(options.parts) - set(parts):
        asked.error(f"no part is called {', '.join(sorted(unknown))}")
    for part in options.parts or parts:
        parts[part](options.plans or plans[part])


if __name__ == "__main__":
    main()
