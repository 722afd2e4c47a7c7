"""The same plan as a model for CP-SAT (OR-tools): the outside reference, never used at run time.

One maker and waits of fixed length. Starts lie in sessions; set-up and cleaning of the airbrush
are intervals of their own, the cleaning at the session's end.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from ortools.sat.python import cp_model

from decaljobs.craft.plan.tasks import (
    AIRBRUSH_COST,
    TARDINESS_COST,
    FixedWait,
    PlanInput,
    Session,
    Task,
)


@dataclass(frozen=True)
class Reference:
    """The best objective found, minutes, the bound, and whether it is proved."""

    objective: float
    bound: float
    proved: bool


class ExactPlan:
    """Builds and solves the model of one plan."""

    def __init__(self, plan_input: PlanInput) -> None:
        self.input = plan_input
        self.model = cp_model.CpModel()
        self.spans = [self._minutes(session) for session in plan_input.sessions]
        self.horizon = self.spans[-1][1]
        self.starts = {task.id: self._start(task) for task in plan_input.tasks}
        self.intervals = [self._interval(task) for task in plan_input.tasks]
        for task in plan_input.tasks:
            self._waits(task)
        self.intervals += self._closed_hours()
        self.sprayed = self._airbrush()
        self.model.add_no_overlap(self.intervals)
        self.model.minimize(self._objective())

    def _minutes(self, session: Session) -> tuple[int, int]:
        return self._minute(session.start), self._minute(session.end)

    def _minute(self, moment: datetime) -> int:
        return round((moment - self.input.moment).total_seconds() / 60)

    def _start(self, task: Task) -> cp_model.IntVar:
        spans = [
            (max(0, start), end - task.minutes)
            for start, end in self.spans
            if end - task.minutes >= max(0, start)
        ]
        return self.model.new_int_var_from_domain(cp_model.Domain.from_intervals(spans), task.id)

    def _interval(self, task: Task) -> cp_model.IntervalVar:
        start = self.starts[task.id]
        return self.model.new_fixed_size_interval_var(start, task.minutes, task.id)

    def _closed_hours(self) -> list[cp_model.IntervalVar]:
        """Redundant, but the solver reasons better with them."""
        return [
            self.model.new_fixed_size_interval_var(end, start - end, f"closed{end}")
            for (_, end), (start, _) in pairwise(self.spans)
            if start > end
        ]

    def _waits(self, task: Task) -> None:
        minutes = {other.id: other.minutes for other in self.input.tasks}
        for wait in task.waits:
            assert wait.after is not None and isinstance(wait.ready, FixedWait)
            lag = round(wait.ready.length.total_seconds() / 60) + minutes[wait.after]
            self.model.add(self.starts[task.id] >= self.starts[wait.after] + lag)

    def _airbrush(self) -> list[cp_model.IntVar]:
        """A literal for each session: is the airbrush out in it?"""
        tasks = [task for task in self.input.tasks if task.airbrush]
        sprayed, here = [], {task.id: [] for task in tasks}
        for number, (start, end) in enumerate(self.spans):
            out = self.model.new_bool_var(f"out{number}")
            setup, cleaning = self.input.setup_minutes, self.input.cleaning_minutes
            begin = self.model.new_int_var(max(0, start), end, f"setup{number}")
            self.intervals += [
                self.model.new_optional_fixed_size_interval_var(begin, setup, out, f"s{number}"),
                self.model.new_optional_fixed_size_interval_var(
                    end - cleaning, cleaning, out, f"c{number}"
                ),
            ]
            for task in tasks:
                inside = self.model.new_bool_var(f"{task.id}in{number}")
                here[task.id].append(inside)
                self.model.add_implication(inside, out)
                self.model.add(self.starts[task.id] >= begin + setup).only_enforce_if(inside)
                self.model.add(self.starts[task.id] + task.minutes <= end).only_enforce_if(inside)
            sprayed.append(out)
        for inside in here.values():
            self.model.add_exactly_one(inside)
        return sprayed

    def _objective(self) -> cp_model.LinearExpr:
        last = self.model.new_int_var(0, self.horizon, "end")
        terms = [last, AIRBRUSH_COST * sum(self.sprayed)]
        for project in self.input.projects:
            late = self.model.new_int_var(0, 10**7, f"late {project.id}")
            for task in self.input.tasks:
                if project.id in task.projects:
                    end = self.starts[task.id] + task.minutes
                    self.model.add(last >= end)
                    if project.due:
                        self.model.add(late >= end - self._minute(project.due))
            terms.append(round(TARDINESS_COST * project.weight) * late)
        return sum(terms)

    def hint(self, starts: Mapping[str, datetime]) -> None:
        """Begin from a plan that is known."""
        for name, start in starts.items():
            self.model.add_hint(self.starts[name], self._minute(start))

    def solve(self, seconds: float, workers: int = 1) -> Reference:
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.num_workers = workers
        status = solver.solve(self.model)
        found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
        return Reference(
            solver.objective_value if found else float("inf"),
            solver.best_objective_bound,
            status == cp_model.OPTIMAL,
        )
