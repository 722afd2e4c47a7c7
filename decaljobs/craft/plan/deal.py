"""A deal: every task in a session of one maker, where a session may be overfull at a price.

What a deal costs is known without an order inside the sessions, so that a change of it can be
tried some hundred thousand times a second. Each session has a price of its own for a minute too
many, which rises while it is overfull and falls while it is not.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from operator import getitem, mul
from typing import Any, NamedTuple

from decaljobs.craft.plan.dealends import Ends
from decaljobs.craft.plan.guide import Guide
from decaljobs.craft.plan.packing import Sessions
from decaljobs.craft.plan.tasks import AIRBRUSH_COST

#: What tasks count as that could not be ordered in a session, minutes too many (tried out).
DISLIKED = 30
#: The lists of a deal that its changes change.
KEPT = ("place", "load", "sprays", "holds", "ending", "excess", "costs", "last")


class Known(NamedTuple):
    """How a deal stood once."""

    lists: list[list[Any]]
    inside: list[list[int]]
    over: int
    cost: float
    final: int
    end: int


class Met(NamedTuple):
    """A deal without an overfull session: its cost, minutes, and the session of each task."""

    cost: float
    place: list[int]


class Deal:
    """Tasks in sessions. ``over`` is the minutes too many, ``cost`` is without their price."""

    def __init__(
        self, sessions: Sessions, place: Sequence[int], guide: Guide, price: float
    ) -> None:
        self.sessions, self.model = sessions, sessions.model
        self.ends = Ends(sessions)
        self.lowest, self.guided = price, 0.0
        self.pull = _pull(sessions, guide)
        self.disliked: dict[int, int] = {}
        self.spraying = self.model.setup + self.model.cleaning
        count = len(sessions.room)
        self.place = list(place)
        self.inside: list[list[int]] = [[] for _ in range(count)]
        self.load, self.sprays, self.holds = [0] * count, [0] * count, [0] * count
        self.ending = [0] * count
        self.prices = [price] * count
        for task, session in enumerate(self.place):
            self._put(task, session)
        self.last = [
            max([self.place[task] for task in closing], default=0) for closing in self.model.closing
        ]
        for project, session in enumerate(self.last):
            self.ending[session] |= 1 << project
        self._count()

    def _count(self) -> None:
        sessions = range(len(self.load))
        found = [
            self._account(s, self.load[s], self.sprays[s], self.ending[s], self.holds[s])
            for s in sessions
        ]
        self.excess, self.costs = [over for over, _ in found], [cost for _, cost in found]
        self.final = max(self.place)
        self.final, self.end = self._end_after({self.final: 0})
        self.over, self.cost = sum(self.excess), sum(self.costs) + self.end

    def _put(self, task: int, session: int) -> None:
        self.inside[session].append(task)
        self.load[session] += self.model.minutes[task]
        self.holds[session] |= 1 << task
        self.sprays[session] += self.model.airbrush[task]

    def _take(self, task: int, session: int) -> None:
        self.inside[session].remove(task)
        self.load[session] -= self.model.minutes[task]
        self.holds[session] ^= 1 << task
        self.sprays[session] -= self.model.airbrush[task]

    def _account(
        self, session: int, load: int, sprays: int, ending: int, holds: int
    ) -> tuple[int, float]:
        """The minutes too many in a session, and its cost, with so much in it."""
        over, cost = load - self.sessions.room[session], self.ends.cost(session, ending)
        if sprays:
            over += self.spraying
            cost += AIRBRUSH_COST
        if over < 0:
            over = 0
        return over + self.disliked.get(holds, 0), cost

    def met(self, below: float) -> Met | None:
        """What it is if it costs less than ``below`` and has no overfull session."""
        return Met(self.cost, self.place[:]) if self.over == 0 and self.cost < below else None

    def priced(self) -> float:
        """The cost with the price of all minutes too many and with what the guide asks."""
        cost = self.cost + sum(map(mul, self.prices, self.excess))
        if self.guided:
            cost += self.guided * sum(map(getitem, self.pull, self.place))
        return cost

    def known(self) -> Known:
        """How it stands, for ``put_back``."""
        lists = [getattr(self, name)[:] for name in KEPT]
        inside = [tasks[:] for tasks in self.inside]
        return Known(lists, inside, self.over, self.cost, self.final, self.end)

    def put_back(self, known: Known) -> None:
        """Undo all changes since then; prices and dislikes stay."""
        for name, values in zip(KEPT, known.lists, strict=True):
            getattr(self, name)[:] = values
        self.inside[:] = known.inside
        self.over, self.cost = known.over, known.cost
        self.final, self.end = known.final, known.end

    def reprice(self, up: float, down: float) -> None:
        """Multiply prices: of overfull sessions by ``up``, of the others by ``down``."""
        lowest = self.lowest
        self.prices = [
            max(lowest, price * (up if over else down))
            for price, over in zip(self.prices, self.excess, strict=True)
        ]

    def dislike(self, tasks: Iterable[int]) -> None:
        """Make it costly to have just these tasks in a session."""
        held = sum(1 << task for task in tasks)
        self.disliked[held] = self.disliked.get(held, 0) + DISLIKED
        self._count()

    def change(self, changes: Mapping[int, int], bound: float) -> bool:
        """Put tasks into other sessions if that costs at most ``bound`` more; whether it did.

        Nineteen in twenty are refused, so that nothing is moved before the cost is known.
        """
        loads, sprays, pulled = self._shifted(changes)
        ending = self._ending_after(changes)
        holds = self._holds_after(changes) if self.disliked else {}
        more, found = self.guided * pulled, []
        for session in loads | ending:
            over, cost = self._account(
                session,
                self.load[session] + loads.get(session, 0),
                self.sprays[session] + sprays.get(session, 0),
                ending.get(session, self.ending[session]),
                holds.get(session, self.holds[session]),
            )
            found.append((session, over, cost))
            more += cost - self.costs[session]
            more += self.prices[session] * (over - self.excess[session])
        final, end = self._end_after(loads)
        if more + end - self.end > bound:
            return False
        self._move(changes, ending)
        for session, over, cost in found:
            self.over += over - self.excess[session]
            self.excess[session], self.costs[session] = over, cost
        self.final, self.end, self.cost = final, end, sum(self.costs) + end
        return True

    def trade(self, task: int, there: int, other: int, bound: float) -> bool:
        """As ``change`` for one task, and ``other`` (-1: none) that comes back; far quicker."""
        here, closes = self.place[task], self.model.closes
        is_last = here == self.final or there >= self.final
        if is_last or closes[task] or other >= 0 and closes[other]:
            back = {other: here} if other >= 0 else {}
            return self.change({task: there, **back}, bound)
        minutes, airbrush, pull = self.model.minutes, self.model.airbrush, self.pull
        work, sprayed, held = minutes[task], airbrush[task] + 0, 1 << task
        pulled = pull[task][there] - pull[task][here]
        if other >= 0:
            work -= minutes[other]
            sprayed -= airbrush[other]
            held ^= 1 << other
            pulled += pull[other][here] - pull[other][there]
        over_here, cost_here = self._traded(here, -work, -sprayed, held)
        over_there, cost_there = self._traded(there, work, sprayed, held)
        more = (
            self.guided * pulled
            + cost_here
            + cost_there
            + self.prices[here] * (over_here - self.excess[here])
            + self.prices[there] * (over_there - self.excess[there])
        )
        if more > bound:
            return False
        self._move({task: there} if other < 0 else {task: there, other: here}, {})
        for session, over, cost in (here, over_here, cost_here), (there, over_there, cost_there):
            self.over += over - self.excess[session]
            self.excess[session] = over
            self.costs[session] += cost
            self.cost += cost
        return True

    def _traded(self, session: int, work: int, sprayed: int, held: int) -> tuple[int, float]:
        """The minutes too many with so much more in a session, and what it costs more."""
        was = self.sprays[session]
        over, cost = self.load[session] + work - self.sessions.room[session], 0
        if was + sprayed:
            over += self.spraying
            if not was:
                cost = AIRBRUSH_COST
        elif was:
            cost = -AIRBRUSH_COST
        if over < 0:
            over = 0
        if self.disliked:
            over += self.disliked.get(self.holds[session] ^ held, 0)
        return over, cost

    def _shifted(self, changes: Mapping[int, int]) -> tuple[dict[int, int], dict[int, int], float]:
        """By session the minutes and the sprayed tasks that come and go; what the guide asks."""
        place, minutes, airbrush, pull = (
            self.place,
            self.model.minutes,
            self.model.airbrush,
            self.pull,
        )
        loads: dict[int, int] = {}
        sprays: dict[int, int] = {}
        pulled = 0.0
        for task, there in changes.items():
            here, work = place[task], minutes[task]
            loads[here] = loads.get(here, 0) - work
            loads[there] = loads.get(there, 0) + work
            if airbrush[task]:
                sprays[here] = sprays.get(here, 0) - 1
                sprays[there] = sprays.get(there, 0) + 1
            pulled += pull[task][there] - pull[task][here]
        return loads, sprays, pulled

    def _ending_after(self, changes: Mapping[int, int]) -> dict[int, int]:
        """The projects (masks) that end in the sessions where that changes."""
        place, model = self.place, self.model
        ending: dict[int, int] = {}
        for project in {project for task in changes for project in model.closes[task]}:
            was = self.last[project]
            now = max([changes.get(task, place[task]) for task in model.closing[project]])
            if now != was:
                ending[was] = ending.get(was, self.ending[was]) ^ 1 << project
                ending[now] = ending.get(now, self.ending[now]) ^ 1 << project
        return ending

    def _holds_after(self, changes: Mapping[int, int]) -> dict[int, int]:
        holds: dict[int, int] = {}
        for task, there in changes.items():
            here = self.place[task]
            holds[here] = holds.get(here, self.holds[here]) ^ 1 << task
            holds[there] = holds.get(there, self.holds[there]) ^ 1 << task
        return holds

    def _end_after(self, loads: Mapping[int, int]) -> tuple[int, int]:
        """The last session with work, and the plan's end in it, about."""
        final = max(self.final, *loads)
        while final and not self.load[final] + loads.get(final, 0):
            final -= 1
        return final, self.sessions.starts[final] + self.load[final] + loads.get(final, 0)

    def _move(self, changes: Mapping[int, int], ending: Mapping[int, int]) -> None:
        for task, session in changes.items():
            self._take(task, self.place[task])
            self._put(task, session)
            self.place[task] = session
        for session, projects in ending.items():
            self.ending[session] = projects
        for project in {project for task in changes for project in self.model.closes[task]}:
            self.last[project] = max([self.place[task] for task in self.model.closing[project]])


def _pull(sessions: Sessions, guide: Guide) -> list[list[float]]:
    """What the guide asks for a task in a session, by task and session."""
    return [
        [late * max(0, start + sessions.lead(task) - latest) for start in sessions.starts]
        for task, (latest, late) in enumerate(zip(guide.latest, guide.late, strict=True))
    ]
