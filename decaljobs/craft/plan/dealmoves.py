"""Random changes of a deal that keep every wait: what has to move along is dragged."""

from __future__ import annotations

from collections.abc import Callable
from math import log

from decaljobs.craft.plan.deal import Deal
from decaljobs.craft.plan.guide import served_projects

#: Sessions that a task moves by, on the mean, less one (tried out).
REACH = 1.5
#: Share of tasks sent for which another is sent back (tried out).
BACK = 0.6
#: Shares of changes that let two projects change places, and of others that may drag (tried out).
EXCHANGE, DRAG = 0.05, 0.2
#: A change that drags more than this along is given up.
MOST_DRAGGED = 60


class DealMoves:
    """Draws changes of one deal; nothing where the draw allows none."""

    def __init__(self, deal: Deal, high: list[int], chance: Callable[[], float]) -> None:
        self.deal, self.high, self.chance = deal, high, chance
        self.low = deal.sessions.low
        model = deal.model
        self.own: list[list[int]] = [[] for _ in model.projects]
        for task, projects in enumerate(served_projects(model)):
            if len(projects) == 1:
                self.own[projects[0]].append(task)

    def draw(self) -> dict[int, int]:
        """Task → its new session, for all that change theirs."""
        kind = self.chance()
        changes = self._exchanged() if kind < EXCHANGE else self._sent()
        most = MOST_DRAGGED if kind < EXCHANGE + DRAG else len(changes)
        return changes if changes and self.drag(changes, most) else {}

    def _sent(self) -> dict[int, int]:
        """A task to another session, and maybe one from there back."""
        chance, place = self.chance, self.deal.place
        task = int(chance() * len(place))
        here = place[task]
        step = 1 + int(-log(1.0 - chance()) * REACH)
        there = here - step if chance() < 0.5 else here + step
        if not self.low[task] <= there <= self.high[task]:
            return {}
        changes = {task: there}
        inside = self.deal.inside[there]
        if inside and chance() < BACK:
            other = inside[int(chance() * len(inside))]
            if self.low[other] <= here <= self.high[other]:
                changes[other] = here
        return changes

    def _exchanged(self) -> dict[int, int]:
        """The last tasks of two projects in each other's sessions."""
        chance, place = self.chance, self.deal.place
        one, other = (self.own[int(chance() * len(self.own))] for _ in range(2))
        most = min(len(one), len(other))
        if one is other or not most:
            return {}
        count = 1 + int(chance() * most)
        changes: dict[int, int] = {}
        for first, second in zip(self._latest(one), self._latest(other), strict=False):
            if len(changes) == 2 * count:
                break
            changes[first] = self._within(first, place[second])
            changes[second] = self._within(second, place[first])
        return changes

    def _latest(self, tasks: list[int]) -> list[int]:
        return sorted(tasks, key=self.deal.place.__getitem__, reverse=True)

    def _within(self, task: int, session: int) -> int:
        return min(self.high[task], max(self.low[task], session))

    def drag(self, changes: dict[int, int], most: int) -> bool:
        """Add what has to move along; False if that leaves a window, or is ``most`` and more."""
        place, low, high = self.deal.place, self.low, self.high
        earlier, later = self.deal.sessions.earlier, self.deal.sessions.later
        moved = list(changes)
        for task in moved:
            session = changes[task]
            for other, last in earlier[task]:
                if last[session] < changes.get(other, place[other]):
                    if last[session] < low[other]:
                        return False
                    changes[other] = last[session]
                    moved.append(other)
            for other, first in later[task]:
                if first[session] > changes.get(other, place[other]):
                    if first[session] > high[other]:
                        return False
                    changes[other] = first[session]
                    moved.append(other)
            if len(moved) > most:
                return False
        return True
