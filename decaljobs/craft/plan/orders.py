"""The order inside the sessions, once it is known which tasks belong to which.

Session after session all orders are searched depth-first, the most urgent task tried first, and
branches cut that can no longer please: a task too late for what waits for it, more minutes than
are left, or a cost no lower than that of the best order met.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from decaljobs.craft.plan.model import FAR
from decaljobs.craft.plan.packing import Sessions

#: Orders of one session that are begun, at most (tried out).
NODES = 300
#: What a minute counts by which a task holds up the work of a later session (tried out).
HELD_UP = 1.0
#: Minutes over which it is seen what a task's delay costs.
AHEAD = 60


class Lateness(NamedTuple):
    """What each minute costs after a minute that a task should have ended by."""

    cost: float
    by: int


class Order(NamedTuple):
    """Tasks as they follow each other; ``stuck`` is the session that found no order, or -1."""

    tasks: list[int]
    stuck: int = -1


class Orders:
    """Orders the tasks of packings of one model."""

    def __init__(self, sessions: Sessions) -> None:
        self.sessions, self.model = sessions, sessions.model
        self.ends = [0] * len(self.model.tasks)

    def of(self, place: Sequence[int], limits: Sequence[int], until: int) -> Order:
        """The best orders met for the tasks' sessions ``place``, the plan's end by ``until``.

        No task may end past its limit (minutes).
        """
        sessions, model = self.sessions, self.model
        inside: list[list[int]] = [[] for _ in sessions.ends]
        for task in sessions.by_waits:
            inside[place[task]].append(task)
        closed = [
            min(until, end - model.cleaning * any(model.airbrush[task] for task in tasks))
            for end, tasks in zip(sessions.ends, inside, strict=True)
        ]
        latest = self._latest(place, limits, closed)
        found: list[int] = []
        for session, tasks in enumerate(inside):
            if tasks:
                search = _Search(self, session, tasks, place, latest)
                search.go(sessions.starts[session], 0, search.least_setup, 0.0)
                if not search.best:
                    return Order([], session)
                for number, end in search.best:
                    self.ends[tasks[number]] = end
                    found.append(tasks[number])
        return Order(found)

    def _latest(
        self, place: Sequence[int], limits: Sequence[int], closed: Sequence[int]
    ) -> list[int]:
        """The last end of each task with which none of those that wait for it is too late."""
        sessions, minutes = self.sessions, self.model.minutes
        latest = [min(limit, closed[place[task]]) for task, limit in enumerate(limits)]
        for task in reversed(sessions.by_waits):
            for later, table in sessions.waits[task]:
                latest[task] = min(latest[task], table.begun_by(latest[later] - minutes[later]))
        return latest


class _Search:
    """All orders of one session; tasks are told by their number in it.

    ``best`` holds the numbers and ends of the best order, empty while there is none.
    """

    def __init__(
        self,
        orders: Orders,
        session: int,
        tasks: Sequence[int],
        place: Sequence[int],
        latest: Sequence[int],
    ) -> None:
        model = orders.model
        self.model, self.orders, self.tasks = model, orders, tasks
        number = {task: n for n, task in enumerate(tasks)}
        self.minutes = [model.minutes[task] for task in tasks]
        self.airbrush = [model.airbrush[task] for task in tasks]
        self.latest = [latest[task] for task in tasks]
        self.within = [
            [(number[other], table) for other, table in model.before[task] if other in number]
            for task in tasks
        ]
        start = orders.sessions.starts[session]
        self.ready = [self._ready(task, start, number) for task in tasks]
        self.lateness = [self._lateness(task, session, place, latest[task]) for task in tasks]
        self.least_setup = model.setup * any(self.airbrush)
        self.is_last = session == max(place)
        self.left = sum(self.minutes)
        self.close = max(self.latest)
        self.all = (1 << len(tasks)) - 1
        self.ends = [0] * len(tasks)
        self.order: list[int] = []
        self.best: list[tuple[int, int]] = []
        self.least, self.nodes = float("inf"), 0

    def _ready(self, task: int, start: int, inside: dict[int, int]) -> int:
        """When the waits that earlier sessions began are over."""
        over = [
            table[self.orders.ends[other]]
            for other, table in self.model.before[task]
            if other not in inside
        ]
        return max([start, self.model.release[task], *over])

    def _lateness(
        self, task: int, session: int, place: Sequence[int], latest: int
    ) -> list[Lateness]:
        """What its end costs its projects, and the work of later sessions that waits for it."""
        model, sessions = self.model, self.orders.sessions
        dries = model.dries[task]
        costs = [
            Lateness(
                model.weight[project],
                model.due[project] if dries is None else dries.begun_by(model.due[project]),
            )
            for project in model.closes[task]
            if all(place[other] <= session for other in model.closing[project])
        ]
        costs += [
            Lateness(HELD_UP, table.begun_by(sessions.starts[place[later]]))
            for later, table in sessions.waits[task]
            if place[later] > session
        ]
        return [lateness for lateness in costs if lateness.by < latest]

    def go(self, minute: int, done: int, setup: int, cost: float) -> None:
        """Go on from ``minute`` with the tasks not yet ``done`` (a mask), ``cost`` so far.

        ``setup`` is the minutes of the airbrush's set-up that are still to come.
        """
        self.nodes += 1
        if done == self.all:
            self._note(cost + minute * self.is_last)
            return
        if minute + self.left + setup > self.close:
            return
        for urgency, _, _, task, start in self._options(minute, done, setup, cost):
            self.ends[task] = end = start + self.minutes[task]
            kept = 0 if self.airbrush[task] or start - minute >= setup else setup
            self.order.append(task)
            self.left -= self.minutes[task]
            more = self._cost(task, end) if urgency else 0.0
            self.go(end, done | 1 << task, kept, cost + more)
            self.left += self.minutes[task]
            self.order.pop()
            if self.nodes > NODES:
                return

    def _note(self, cost: float) -> None:
        if cost < self.least:
            self.least = cost
            self.best = [(task, self.ends[task]) for task in self.order]

    def _options(
        self, minute: int, done: int, setup: int, cost: float
    ) -> list[tuple[float, int, int, int, int]]:
        """What may come next and when, the most urgent first; nothing if that is in vain."""
        options, soonest = [], FAR
        for task, minutes in enumerate(self.minutes):
            if done >> task & 1:
                continue
            start, free = self._start(task, minute, done, setup)
            end = start + minutes
            if end > self.latest[task]:
                return []
            cost += self._cost(task, end)
            if free:
                soonest = min(soonest, end)
                delay = self._cost(task, end + AHEAD) - self._cost(task, end)
                options.append((-delay / minutes, start, self.latest[task], task, start))
        if cost + (minute + self.left) * self.is_last >= self.least:
            return []
        # a task that leaves room for another before it comes after that one
        return sorted(
            option for option in options if option[1] - setup * self.airbrush[option[3]] < soonest
        )

    def _start(self, task: int, minute: int, done: int, setup: int) -> tuple[int, bool]:
        """The soonest start, and whether all that it waits for is done."""
        start, free = self.ready[task], True
        for other, table in self.within[task]:
            if done >> other & 1:
                over = table[self.ends[other]]
            else:
                over, free = table[minute + self.minutes[other]], False
            start = max(start, over)
        return max(start, minute + setup * self.airbrush[task]), free

    def _cost(self, task: int, end: int) -> float:
        cost = 0.0
        for each, by in self.lateness[task]:
            if end > by:
                cost += each * (end - by)
        return cost
