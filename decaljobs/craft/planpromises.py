"""Promises: in which session each project shall end, the cheapest promises first.

Of all that would cost less than the best plan known, few can be kept: the tasks have to fit into
the sessions up to there. Those few are packed; what packs well becomes a plan.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator
from heapq import heappop, heappush
from itertools import islice

from decaljobs.craft.planbudget import Budget
from decaljobs.craft.planguide import Guide, latest_ends, served_projects
from decaljobs.craft.planmodel import Model
from decaljobs.craft.planpacking import COOL, WARM, Packing, Sessions
from decaljobs.craft.plansearch import Annealing
from decaljobs.craft.plantimeline import Timeline

#: Beyond these the promises grow too many to be gone through.
MOST_PROJECTS, MOST_TASKS = 8, 100
#: So many of the cheapest are gone through.
MOST_PROMISES = 2000
#: Changes of one packing, and how many between two looks at the clock (tried out).
CHANGES, BATCH = 4000, 40
#: Minutes too many with which a packing is tried as a plan, and beyond which it is given up.
ALMOST, HOPELESS = 6, 15
#: Tries to keep a promise by the order inside the sessions, and how hot they begin, minutes.
TOUCHES, GUIDED_HOT = 300, 1500.0


def can_promise(model: Model) -> bool:
    """Whether a plan is of the form meant here: one maker, few projects, nothing pinned.

    >>> from datetime import UTC, datetime, timedelta
    >>> from decaljobs.craft.planmodel import benches_of, build_model
    >>> from decaljobs.craft.plantasks import PlanInput, Session, Task
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


class Promises:
    """Packs one promise after the other; ``best`` is the best plan met."""

    def __init__(self, timeline: Timeline, guide: Guide, chance: Callable[[], float]) -> None:
        self.best, self.guide, self.chance = timeline, guide, chance
        self.model = timeline.model
        self.sessions = Sessions(self.model)
        self.costs = self._costs()
        self.tries = 0

    def _costs(self) -> list[list[float]]:
        """What each project costs at the least if it ends in a session (project × session)."""
        model, sessions = self.model, self.sessions
        served = served_projects(model)
        soonest = [0] * len(model.projects)
        for task, projects in enumerate(served):
            for project in projects:
                soonest[project] = max(soonest[project], sessions.low[task])
        return [
            [
                self._cost(project, session) if session >= soonest[project] else float("inf")
                for session in range(len(sessions.room))
            ]
            for project in range(len(model.projects))
        ]

    def _cost(self, project: int, session: int) -> float:
        model, ends = self.model, []
        for task in model.closing[project]:
            end = self.sessions.starts[session] + self.sessions.lead(task)
            dries = model.dries[task]
            ends.append(end if dries is None else dries[end])
        return model.weight[project] * max(0, min(ends) - model.due[project])

    def cheapest_first(self) -> Iterator[tuple[int, ...]]:
        """Promises that cost less than the best plan, as session numbers of the projects."""
        costs = self.costs
        start = self._easiest()
        waiting = [(self._sum(start), start, 0)]
        while waiting:
            cost, promised, first = heappop(waiting)
            if cost >= self.best.cost:
                return
            yield promised
            for project in range(first, len(start)):
                session = promised[project] + 1
                if session < len(costs[project]):
                    later = (*promised[:project], session, *promised[project + 1 :])
                    heappush(waiting, (self._sum(later), later, project))

    def _easiest(self) -> tuple[int, ...]:
        """Every project as late as it costs no more."""
        return tuple(
            max(session for session, cost in enumerate(row) if cost == min(row))
            for row in self.costs
        )

    def _all_sooner(self) -> tuple[int, ...]:
        """As that, but nothing in the best plan's last session any more."""
        last = bisect_left(self.sessions.ends, max(self.best.project_end))
        return tuple(min(session, max(0, last - 1)) for session in self._easiest())

    def _sum(self, promised: tuple[int, ...]) -> float:
        return sum(row[session] for row, session in zip(self.costs, promised, strict=True))

    def run(self, budget: Budget) -> None:
        """Pack promise after promise, and again those that came close, until time is over."""
        close = [self._all_sooner(), *islice(self.cheapest_first(), MOST_PROMISES)]
        while close and budget.spent(self.tries) < 1.0:
            close = self._close(close, budget)

    def _close(self, promises: list[tuple[int, ...]], budget: Budget) -> list[tuple[int, ...]]:
        # in any order: each that is kept rules out all that would cost more
        close = []
        for promised in sorted(promises, key=lambda _: self.chance()):
            if budget.spent(self.tries) >= 1.0:
                break
            high = self.sessions.windows(promised)
            if high is None or self._sum(promised) >= self.best.cost:
                continue
            packing = Packing(self.sessions, high, self.chance)
            least, nearest = self._pack(packing, budget)
            if least <= HOPELESS:
                close.append(promised)
            if nearest is not None and self._sum(promised) < self.best.cost:
                self._touch_up(nearest, promised, budget)
        return close

    def _pack(self, packing: Packing, budget: Budget) -> tuple[int, Timeline | None]:
        """Work on one packing; the fewest minutes too many, and the best plan made of it."""
        met: set[tuple[int, ...]] = set()
        least, nearest = packing.over, None
        for done in range(0, CHANGES, BATCH):
            self.tries += 1
            if not packing.free or budget.spent(self.tries) >= 1.0:
                break
            temperature = WARM + (COOL - WARM) * done / CHANGES
            for _ in range(BATCH):
                packing.change(temperature)
                if packing.over < least:
                    least, nearest = packing.over, None
                if packing.over <= ALMOST and (place := tuple(packing.place)) not in met:
                    met.add(place)
                    plan = Timeline(self.model, packing.order(), packing.unsprayed(), self.guide)
                    if nearest is None or plan.cost < nearest.cost:
                        nearest = plan
                        self.best = min(plan, self.best, key=lambda known: known.cost)
        return least, nearest

    def _touch_up(self, plan: Timeline, promised: tuple[int, ...], budget: Budget) -> None:
        """Change the order inside the sessions until the promise is kept, for some tries."""
        ends = [self.sessions.ends[session] for session in promised]
        guide = self.guide._replace(latest=latest_ends(self.model, ends))
        start = Timeline(self.model, plan.slots.order, plan.slots.unsprayed, guide)
        search = Annealing(start, int(self.chance() * 2**31))
        search.run_guided(budget, self.tries, TOUCHES, GUIDED_HOT)
        self.tries += search.tries
        if search.best < self.best.cost:
            self.best = Timeline(self.model, search.best_order, search.best_unsprayed, self.guide)
