"""Promises: in which session each project shall end, the cheapest promises first.

Of all that would cost less than the best plan known, few can be kept: the tasks have to fit into
the sessions up to there. Those few are packed and put in order; what comes out well is a plan.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from heapq import heappop, heappush
from itertools import islice
from typing import NamedTuple

from decaljobs.craft.plan.guide import served_projects
from decaljobs.craft.plan.model import FAR, Model
from decaljobs.craft.plan.packing import Sessions
from decaljobs.craft.plan.tasks import AIRBRUSH_COST

#: Beyond these the promises grow too many to be gone through.
MOST_PROJECTS, MOST_TASKS = 8, 100
#: So many of the cheapest are gone through.
MOST_PROMISES = 2000


def can_promise(model: Model) -> bool:
    """Whether a plan is of the form meant here: one maker, few projects, nothing pinned.

    >>> from datetime import UTC, datetime, timedelta
    >>> from decaljobs.craft.plan.model import benches_of, build_model
    >>> from decaljobs.craft.plan.tasks import PlanInput, Session, Task
    >>> noon, hour = datetime(2026, 3, 2, 12, tzinfo=UTC), timedelta(hours=1)
    >>> tasks = (Task("hull", "boat", "lay", 60), Task("fret", "tram", "lay", 60))
    >>> sessions = tuple(Session("Ada", noon + n * hour, noon + (n + 1) * hour) for n in (0, 24))
    >>> plan_input = PlanInput(noon, tasks, (), sessions)
    >>> can_promise(build_model(plan_input, tasks, benches_of(noon, sessions)))
    True
    """
    return (
        len(model.benches) == 1
        and len(model.benches[0].sessions) > 1
        and 1 < len(model.projects) <= MOST_PROJECTS
        and len(model.tasks) <= MOST_TASKS
        and not model.pinned
    )


class Draft(NamedTuple):
    """Sessions for the ends of the projects, what that costs at the least, and the bound to beat.

    ``until`` is the last minute at which the plan may end if at most ``sprayed`` sessions spray.
    """

    ends: tuple[int, ...]
    cost: float
    best: float
    sprayed: int
    until: int


class Promise(NamedTuple):
    """What a better plan may be like: ``until`` and ``sprayed`` are those of its draft.

    ``limits`` are the last ends of the tasks (minutes), ``high`` their last sessions, ``gain`` is
    what may be saved at the most, about (minutes).
    """

    until: int
    sprayed: int
    limits: list[int]
    high: list[int]
    gain: float


class Promises:
    """The promises of one model."""

    def __init__(self, model: Model) -> None:
        self.model, self.sessions = model, Sessions(model)
        self.soonest = [0] * len(model.projects)
        for task, projects in enumerate(served_projects(model)):
            for project in projects:
                self.soonest[project] = max(self.soonest[project], self.sessions.low[task])
        self.costs = [
            [
                self._cost(project, session) if session >= soonest else float("inf")
                for session in range(len(self.sessions.room))
            ]
            for project, soonest in enumerate(self.soonest)
        ]

    def _cost(self, project: int, session: int) -> float:
        """What a project costs at the least if it ends in a session."""
        model, ends = self.model, []
        for task in model.closing[project]:
            end = self.sessions.starts[session] + self.sessions.lead(task)
            dries = model.dries[task]
            ends.append(end if dries is None else dries[end])
        return model.weight[project] * max(0, min(ends) - model.due[project])

    def cheapest_first(self, below: float) -> Iterator[tuple[float, tuple[int, ...]]]:
        """Sessions for the ends of the projects, with their costs, which are below a bound."""
        start = self._easiest()
        waiting = [(self._sum(start), start, 0)]
        while waiting:
            cost, ends, first = heappop(waiting)
            if cost >= below:
                return
            yield cost, ends
            for project in range(first, len(start)):
                session = ends[project] + 1
                if session < len(self.sessions.room):
                    later = (*ends[:project], session, *ends[project + 1 :])
                    heappush(waiting, (self._sum(later), later, project))

    def _easiest(self) -> tuple[int, ...]:
        """Every project as late as it costs no more."""
        return tuple(
            max(session for session, cost in enumerate(row) if cost == min(row))
            for row in self.costs
        )

    def _sum(self, ends: tuple[int, ...]) -> float:
        return sum(row[session] for row, session in zip(self.costs, ends, strict=True))

    def _one_by_one(self, ends: tuple[int, ...]) -> float:
        """What it costs that late projects of one session end one after the other."""
        model, cost = self.model, 0.0
        for session in set(ends):
            late = [p for p, end in enumerate(ends) if end == session and self.costs[p][end] > 0]
            minutes = {p: min(model.minutes[task] for task in model.closing[p]) for p in late}
            passed = 0
            for project in sorted(late, key=lambda p: minutes[p] / model.weight[p]):
                cost += model.weight[project] * passed
                passed += minutes[project]
        return cost

    def better_than(self, best: float) -> list[Draft]:
        """The promises with which a plan may cost less than ``best`` minutes."""
        found = []
        for alone, ends in islice(self.cheapest_first(best), MOST_PROMISES):
            cost = alone + self._one_by_one(ends)
            for sprayed, until in self._ways_to_save(best - cost):
                found.append(Draft(ends, cost, best, sprayed, until))
        return found

    def _ways_to_save(self, left: float) -> Iterator[tuple[int, int]]:
        """Sessions of spraying and last minutes for which less than ``left`` is paid.

        With fewer sessions of spraying the plan may end later; told only where that lets it.
        """
        sessions, known = self.sessions, 0
        for sprayed in range(len(sessions.room), 0, -1):
            until = int(min(left - AIRBRUSH_COST * sprayed, FAR)) - 1
            last = bisect_left(sessions.starts, until) - 1
            if last >= 0 and min(until, sessions.ends[last]) > known:
                known = min(until, sessions.ends[last])
                yield sprayed, until

    def made(self, draft: Draft) -> Promise | None:
        """The promise with its limits; None if they cannot be kept."""
        sessions, ends, until = self.sessions, draft.ends, draft.until
        late = [end for project, end in enumerate(ends) if self.costs[project][end] > 0]
        soonest = max(sessions.starts[session] for session in [*late, *self.soonest])
        left = draft.best - draft.cost
        limits = self._limits(ends, left - soonest, until)
        high = sessions.windows(limits)
        if high is None or sessions.least_sprayed(high) > draft.sprayed:
            return None
        if not late:
            soonest = sessions.starts[bisect_left(sessions.starts, until) - 1]
        return Promise(until, draft.sprayed, limits, high, max(1.0, left - soonest))

    def _limits(self, ends: tuple[int, ...], left: float, until: int) -> list[int]:
        """The last end of each task that closes a project, if less than ``left`` may be lost."""
        model, limits = self.model, []
        for task, closes in enumerate(model.closes):
            limit, over = model.horizon, until
            for project in closes:
                session = ends[project]
                limit = min(limit, self.sessions.ends[session])
                if (weight := model.weight[project]) > 0:
                    late = (self.costs[project][session] + left) / weight
                    over = min(over, int(min(model.due[project] + late, FAR)))
            if closes and (dries := model.dries[task]) is not None:
                over = dries.begun_by(over)
            limits.append(max(0, min(limit, over)))
        return limits
