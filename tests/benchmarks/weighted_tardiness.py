"""How far the planner stays from the optimum on one machine (OR-Library, J. E. Beasley).

    python -m tests.benchmarks.weighted_tardiness INSTANCES OPTIMA --seconds 1

INSTANCES holds three lines each (processing times, weights, due dates), OPTIMA the best known
total weighted tardiness on the same-numbered line. Each instance is given as a bench plan: one
maker, one long session, one task for each project. The seconds are the processor's.
"""

from __future__ import annotations

import time
from argparse import ArgumentParser
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import fmean

from decaljobs.craft.benchplan import make_plan
from decaljobs.craft.plan.tasks import Plan, PlanInput, Project, Session, Task
from tests.benchmarks.figures import Figure, tell
from tests.benchmarks.plan_checks import faults

MOMENT = datetime(2026, 3, 2, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def one_machine(
    processing: Sequence[int], weights: Sequence[int], dues: Sequence[int]
) -> PlanInput:
    """The same problem as a bench plan, its units as minutes."""
    jobs = range(len(processing))
    tasks = tuple(Task(f"{job}", f"{job}", "job", processing[job]) for job in jobs)
    projects = tuple(
        Project(f"{job}", due=MOMENT + dues[job] * MINUTE, weight=weights[job]) for job in jobs
    )
    whole = Session("one", MOMENT, MOMENT + sum(processing) * MINUTE)
    return PlanInput(MOMENT, tasks, projects, (whole,))


def read_instances(path: Path) -> list[PlanInput]:
    """Every instance of a file, in its order."""
    rows = [[int(figure) for figure in line.split()] for line in path.read_text().splitlines()]
    rows = [row for row in rows if row]
    return [one_machine(*rows[place : place + 3]) for place in range(0, len(rows), 3)]


def tardiness_of(plan: Plan) -> float:
    """Σ weight · minutes late."""
    return sum(end.project.weight * end.late_minutes for end in plan.ends)


def gap(found: float, optimum: float) -> float:
    """How far from the optimum, percent; an optimum of nothing late is met or it is not."""
    if found == optimum:
        return 0.0
    return 100 * (found / optimum - 1) if optimum else float("inf")


def main() -> None:
    asked = ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("instances", type=Path)
    asked.add_argument("optima", type=Path)
    asked.add_argument("--seconds", type=float, default=1.0)
    options = asked.parse_args()
    optima = [int(line) for line in options.optima.read_text().split()]
    gaps = []
    for number, (given, optimum) in enumerate(
        zip(read_instances(options.instances), optima, strict=True), 1
    ):
        plan = make_plan(given, seconds=options.seconds, clock=time.process_time)
        assert not faults(given, plan), faults(given, plan)
        found = tardiness_of(plan)
        gaps.append(gap(found, optimum))
        print(f"{number:4} {found:9.0f} of {optimum:9} gap {gaps[-1]:7.3f} %", flush=True)
    met = sum(one == 0 for one in gaps)
    print(f"mean gap {fmean(gaps):.3f} %, optimal {met} of {len(gaps)}, {options.seconds:g} s each")
    many = f"{len(gaps)} instances of one machine, {options.seconds:g} s each"
    tell(Figure(f"mean gap, {many}", fmean(gaps), "%", 1, 0.1))
    tell(Figure(f"optimal, {many}", 100 * met / len(gaps), "%", 60, 90, more=True))


if __name__ == "__main__":
    main()
