"""The first plan: at every free minute the most pressing task that is ready and fits is done."""

from __future__ import annotations

from collections.abc import Iterable
from math import exp

from decaljobs.craft.planmodel import FAR, Model
from decaljobs.craft.plantimeline import State, Timeline

#: Slack, in minutes, over which a project's urgency falls by a factor e (a choice: two days).
PATIENCE = 2 * 24 * 60.0


def dispatched_order(model: Model) -> list[int]:
    """Every task once, in the order in which a rule of slack and weight takes them up."""
    return Dispatcher(model).run()


class Dispatcher:
    """Walks through the sessions and always takes up the most pressing task."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.timeline = Timeline(model, [])
        self.timeline.only = [-1] * len(model.tasks)
        self.end = [0] * len(model.tasks)
        self.ready = list(model.release)
        self.missing = [len({earlier for earlier, _ in waits}) for waits in model.before]
        self.eligible = [task for task, missing in enumerate(self.missing) if not missing]
        self.tail = tails(model)
        self.left = [0.0] * len(model.projects)
        self.serves = [self._projects_served(task) for task in range(len(model.tasks))]
        for task, projects in enumerate(self.serves):
            for project in projects:
                self.left[project] += model.minutes[task]
        self.kept_for_pins = _with_ancestors(model, model.pinned)
        self.pins = [self._pins_of(maker) for maker in range(len(model.benches))]
        self.states: list[State] = [(0, 0, 0)] * len(model.benches)
        self.order: list[int] = []

    def _projects_served(self, task: int) -> tuple[int, ...]:
        names = self.model.tasks[task].projects
        place = {project.id: number for number, project in enumerate(self.model.projects)}
        return tuple(place[name] for name in dict.fromkeys(names))

    def _pins_of(self, maker: int) -> list[tuple[int, int]]:
        """Pinned tasks of a maker with the last minute at which each may start, latest first."""
        model = self.model
        pins = [task for task in model.pinned if maker in model.makers[task]]
        chain, limit = [], FAR
        for task in sorted(pins, key=lambda pin: -model.latest[pin]):
            limit = min(limit - model.minutes[task], model.latest[task])
            chain.append((limit, task))
        return chain

    def run(self) -> list[int]:
        while self.eligible:
            maker = min(range(len(self.states)), key=self._now)
            task = self._pressing(maker)
            if task is None:
                task, maker = self._soonest()
            self._take_up(task, maker)
        return self.order

    def _now(self, maker: int) -> int:
        if not any(maker in self.model.makers[task] for task in self.eligible):
            return FAR * 2
        free, session, _ = self.states[maker]
        return max(free, self.model.benches[maker].starts[session])

    def _pressing(self, maker: int) -> int | None:
        """The most pressing ready task that fits into the session at hand."""
        now, session = self._now(maker), self.states[maker][1]
        urgency = self._urgencies(now)
        ready = [
            task
            for task in self.eligible
            if self.ready[task] <= now and maker in self.model.makers[task]
        ]
        ready.sort(key=lambda task: self._rank(task, now, urgency), reverse=True)
        for task in ready:
            start, found, _, _ = self._slot(task, maker)
            if found == session and self._leaves_pins(task, start, maker):
                return task
        return None

    def _urgencies(self, now: int) -> list[float]:
        """Weight over work left, for each project, and 0 for those that are done."""
        return [
            weight / max(left, 1.0)
            for weight, left in zip(self.model.weight, self.left, strict=True)
        ]

    def _rank(self, task: int, now: int, urgency: list[float]) -> tuple[bool, float, int]:
        due, tail = self.model.due, self.tail[task] + now
        press = sum(
            urgency[project] * exp(min(0.0, (tail - due[project]) / PATIENCE))
            for project in self.serves[task]
        )
        return task in self.kept_for_pins, press, self.tail[task]

    def _slot(self, task: int, maker: int) -> tuple[int, int, int, bool]:
        return self.timeline._slot(task, maker, self.ready[task], self.states[maker])

    def _leaves_pins(self, task: int, start: int, maker: int) -> bool:
        """Whether a task ends early enough for the pinned ones of the maker."""
        if task in self.kept_for_pins:
            return True
        end = start + self.model.minutes[task] + self.model.setup * self.model.airbrush[task]
        return all(end <= limit for limit, pin in self.pins[maker] if pin not in self.done)

    @property
    def done(self) -> set[int]:
        return set(self.order)

    def _soonest(self) -> tuple[int, int]:
        """The task, with its maker, that can start first, if the pins allow."""
        options = [
            (start + FAR * (not self._leaves_pins(task, start, maker)), -self.tail[task], task, maker)
            for task in self.eligible
            for maker in self.model.makers[task]
            for start in [self._slot(task, maker)[0]]
        ]
        _, _, task, maker = min(options)
        return task, maker

    def _take_up(self, task: int, maker: int) -> None:
        start, session, airbrush, _ = self._slot(task, maker)
        end = self.end[task] = start + self.model.minutes[task]
        self.states[maker] = (end, session, airbrush)
        self.order.append(task)
        self.eligible.remove(task)
        for project in self.serves[task]:
            self.left[project] -= self.model.minutes[task]
        for later in self.model.after[task]:
            self.missing[later] -= 1
            if not self.missing[later]:
                self._release(later)

    def _release(self, task: int) -> None:
        over = [table[self.end[earlier]] for earlier, table in self.model.before[task]]
        self.ready[task] = max(self.ready[task], *over)
        self.eligible.append(task)


def tails(model: Model) -> list[int]:
    """Minutes from each task's start to the end of what follows it, were the bench always free."""
    tail = [0] * len(model.tasks)
    for task in reversed(sorted_by_waits(model)):
        own, dries = model.minutes[task], model.dries[task]
        follow = [tail[later] + _lag(model, task, later) for later in model.after[task]]
        tail[task] = own + max([0, *follow, 0 if dries is None else dries[0]])
    return tail


def _lag(model: Model, earlier: int, later: int) -> int:
    return max(table[0] for task, table in model.before[later] if task == earlier)


def sorted_by_waits(model: Model) -> list[int]:
    """The tasks so that none stands before what it waits for."""
    missing = [len({earlier for earlier, _ in waits}) for waits in model.before]
    found = [task for task, number in enumerate(missing) if not number]
    for task in found:
        for later in model.after[task]:
            missing[later] -= 1
            if not missing[later]:
                found.append(later)
    return found


def _with_ancestors(model: Model, tasks: Iterable[int]) -> set[int]:
    found, open_tasks = set(), list(tasks)
    while open_tasks:
        task = open_tasks.pop()
        if task not in found:
            found.add(task)
            open_tasks += [earlier for earlier, _ in model.before[task]]
    return found
