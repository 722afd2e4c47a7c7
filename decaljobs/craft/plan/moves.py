"""Random changes of a ranking that keep every task after what it waits for."""

from __future__ import annotations

import random
from collections.abc import Callable

from decaljobs.craft.plan.guide import served_projects, sorted_by_waits
from decaljobs.craft.plan.model import Model
from decaljobs.craft.plan.timeline import Move, Timeline
from decaljobs.craft.plan.trades import trade

#: Shares of the kinds of change (tried out).
SESSION, CHAIN, RIVAL, TRADE, SHIFT = 0.05, 0.35, 0.05, 0.2, 0.15  # the rest are swaps
RAISE = 0.5
DRAWS = 4


class Moves:
    """Draws changes of one timeline; None where the draw allows none."""

    def __init__(self, timeline: Timeline, chance: Callable[[], float]) -> None:
        self.timeline, self.chance = timeline, chance
        self.followers = _followers(timeline.model)
        self.served = served_projects(timeline.model)
        self.spraying = [task for task, air in enumerate(timeline.model.airbrush) if air]

    def draw(self) -> Move | None:
        """One change of a random kind."""
        kind = self.chance()
        for share, make in (
            (SESSION, self._session),
            (CHAIN, self._chain),
            (RIVAL, self._rival),
            (TRADE, self._trade),
            (SHIFT, self._shift),
        ):
            if kind < share:
                return make()
            kind -= share
        return self._swap()

    def _below(self, number: int) -> int:
        return int(self.chance() * number)

    def _room(self, task: int) -> tuple[int, int]:
        """The first and last rank a task can move to alone."""
        rank, model = self.timeline.slots.rank, self.timeline.model
        first = max([rank[earlier] for earlier, _ in model.before[task]], default=-1) + 1
        last = min([rank[later] for later in model.after[task]], default=len(rank)) - 1
        return first, last

    def _shift(self) -> Move | None:
        """One task to another rank."""
        order = self.timeline.slots.order
        here = self._below(len(order))
        first, last = self._room(order[here])
        if first == last:
            return None
        there = first + self._below(last - first)
        return self._shifted(here, there + (there >= here))

    def _shifted(self, here: int, there: int) -> Move:
        order = self.timeline.slots.order
        task = order[here]
        if there < here:
            return Move(there, [task, *order[there:here]], (task,))
        return Move(here, [*order[here + 1 : there + 1], task], (task,))

    def _trade(self) -> Move | None:
        return trade(self.timeline, self.chance)

    def _swap(self) -> Move | None:
        """Two tasks change ranks."""
        order = self.timeline.slots.order
        here = self._below(len(order))
        _, last = self._room(order[here])
        if last <= here:
            return None
        there = here + 1 + self._below(last - here)
        first, _ = self._room(order[there])
        if first > here:
            return None
        one, other = order[here], order[there]
        return Move(here, [other, *order[here + 1 : there], one], (one, other))

    def _rival(self) -> Move | None:
        """A task above one that holds a stretch which it could have had."""
        timeline, slots = self.timeline, self.timeline.slots
        here = self._below(len(slots.order))
        task = slots.order[here]
        span = timeline.span[task]
        first = (span & -span).bit_length() - 1
        busy = slots.busy[first + self._below(span.bit_length() - first)]
        if not busy:
            return None
        there = slots.rank[busy[self._below(len(busy))][2]]
        if there >= here or there < self._room(task)[0]:
            return None
        return self._shifted(here, there)

    def _session(self) -> Move | None:
        """Keep the airbrush out of a session, or let it in again."""
        slots, unsprayed = self.timeline.slots, self.timeline.slots.unsprayed
        if not self.spraying:
            return None
        if unsprayed and self.chance() < 0.5:
            return Move(0, (), (), sorted(unsprayed)[self._below(len(unsprayed))])
        session = slots.place[self.spraying[self._below(len(self.spraying))]].session
        return None if session in slots.endless else Move(0, (), (), session)

    def _chain(self) -> Move | None:
        """A task with all that follows from it: up together, or down."""
        up = self.chance() < RAISE
        task = self._worth_moving(up)
        chain = sorted((task, *self.followers[task]), key=self.timeline.slots.rank.__getitem__)
        return self._raised(chain) if up else self._lowered(chain)

    def _worth_moving(self, up: bool) -> int:
        """Up rather from a late project, if it had to queue; down rather from one in time."""
        timeline, model = self.timeline, self.timeline.model
        task = 0
        for _ in range(DRAWS):
            task = self._below(len(model.tasks))
            project = self.served[task][0]
            late = timeline.project_end[project] > model.due[project]
            if late == up and (not up or self._queued(task)):
                break
        return task

    def _queued(self, task: int) -> bool:
        span, slots = self.timeline.span[task], self.timeline.slots
        if span & (span - 1):
            return True
        place = slots.place[task]
        return place.start > slots.starts[place.session]

    def _raised(self, chain: list[int]) -> Move | None:
        slots, model = self.timeline.slots, self.timeline.model
        rank, inside = slots.rank, set(chain)
        here = rank[chain[0]]
        first, _ = self._room(chain[0])
        if first >= here:
            return None
        others = [
            rank[earlier] + 1
            for task in chain[1:]
            for earlier, _ in model.before[task]
            if earlier not in inside
        ]
        there = max([first + self._below(here - first), *others])
        if there >= here:
            return None
        stretch = slots.order[there : rank[chain[-1]] + 1]
        return Move(there, chain + [task for task in stretch if task not in inside], chain)

    def _lowered(self, chain: list[int]) -> Move | None:
        order, inside = self.timeline.slots.order, set(chain)
        here = self.timeline.slots.rank[chain[0]]
        if here + 1 >= len(order):
            return None
        stretch = order[here : here + 2 + self._below(len(order) - here - 1)]
        lowered = [task for task in stretch if task in inside]
        return Move(here, [task for task in stretch if task not in inside] + lowered, lowered)


def _followers(model: Model) -> list[tuple[int, ...]]:
    """All that comes after each task, however far."""
    found: list[set[int]] = [set() for _ in model.tasks]
    for task in reversed(sorted_by_waits(model)):
        for later in model.after[task]:
            found[task] |= {later} | found[later]
    return [tuple(sorted(tasks)) for tasks in found]


def seeded(seed: int) -> Callable[[], float]:
    """A repeatable source of numbers from 0 to below 1.

    >>> one, other = seeded(7), seeded(7)
    >>> [one(), one()] == [other(), other()]
    True
    """
    return random.Random(seed).random
