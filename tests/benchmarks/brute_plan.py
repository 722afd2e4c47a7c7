"""The best small plan by trying every order, written apart from the planner to check it.

One maker, waits of any kind, each task told after those it waits for. Tasks are put on the bench
one behind the other, each as early as its waits and its session allow; a task that would bring
the airbrush out is also tried in each later session. Branches that can no longer beat the best
are cut.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from decaljobs.craft.plan.tasks import AIRBRUSH_COST, TARDINESS_COST, PlanInput, Task

MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class Bench:
    """Where the work stands: session, minute, and what the airbrush allows in the session.

    ``out`` is whether it is set up; ``gap`` is whether an idle stretch had room for that.
    """

    session: int = 0
    minute: int = 0
    out: bool = False
    gap: bool = False


class EveryOrder:
    """Searches all orders of one plan; ``best`` is the objective in minutes."""

    def __init__(self, plan_input: PlanInput) -> None:
        self.input = plan_input
        self.spans = [
            (max(0, self._minute(session.start)), self._minute(session.end))
            for session in plan_input.sessions
        ]
        self.tasks = {task.id: task for task in plan_input.tasks}
        self.served = {
            project: [task.id for task in plan_input.tasks if project.id in task.projects]
            for project in plan_input.projects
        }
        self.best = float("inf")
        self._go(Bench(), {}, 0)

    def _minute(self, moment: datetime) -> int:
        return round((moment - self.input.moment) / MINUTE)

    def _ready(self, task: Task, ends: dict[str, int]) -> int:
        minutes = [0]
        for wait in task.waits:
            begin = 0 if wait.after is None else ends[wait.after]
            over = wait.ready(self.input.moment + begin * MINUTE)
            assert over is not None
            minutes.append(self._minute(over))
        return max(minutes)

    def _go(self, bench: Bench, ends: dict[str, int], sprayed: int) -> None:
        if self._bound(bench, ends, sprayed) >= self.best:
            return
        if len(ends) == len(self.tasks):
            self.best = self._bound(bench, ends, sprayed)
            return
        for task in self.tasks.values():
            if task.id in ends or any(w.after and w.after not in ends for w in task.waits):
                continue
            for after, end in self._places(task, bench, self._ready(task, ends)):
                opened = task.airbrush and not (after.session == bench.session and bench.out)
                self._go(after, ends | {task.id: end}, sprayed + opened)

    def _places(self, task: Task, bench: Bench, ready: int) -> Iterator[tuple[Bench, int]]:
        """The bench after the task and the task's end, in its first session or, sprayed, any."""
        for number in range(bench.session, len(self.spans)):
            begin, limit = self.spans[number]
            here = bench if number == bench.session else Bench(number)
            placed = self._placed(task, here, max(begin, here.minute), ready, limit)
            if placed is not None:
                yield placed, placed.minute
                if not task.airbrush or here.out:
                    return

    def _placed(self, task: Task, bench: Bench, free: int, ready: int, limit: int) -> Bench | None:
        setup = self.input.setup_minutes
        opens = task.airbrush and not bench.out
        start = max(free + (setup if opens and not bench.gap else 0), ready)
        end = start + task.minutes
        out = bench.out or task.airbrush
        if end > limit - (self.input.cleaning_minutes if out else 0):
            return None
        return Bench(bench.session, end, out, bench.gap or start - free >= setup)

    def _bound(self, bench: Bench, ends: dict[str, int], sprayed: int) -> float:
        """The objective of what is placed; for the rest, of its soonest ends on a free bench."""
        soonest = dict(ends)
        left, spraying = 0, False
        for task in self.tasks.values():
            if task.id not in ends:
                start = max(bench.minute, self._ready(task, soonest))
                soonest[task.id] = start + task.minutes
                left += task.minutes
                spraying = spraying or task.airbrush
        last = max([bench.minute + left, *soonest.values()])
        cost = float(last + AIRBRUSH_COST * (sprayed + (spraying and not bench.out)))
        for project, tasks in self.served.items():
            if project.due is not None and tasks:
                late = max(soonest[task] for task in tasks) - self._minute(project.due)
                cost += TARDINESS_COST * project.weight * max(0, late)
        return cost
