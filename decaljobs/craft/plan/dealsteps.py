"""Small steps of a deal, a million drawn in some seconds.

One task goes to another session, or changes places with a task there, if all waits allow it
where the other tasks stand.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import log

from decaljobs.craft.plan.deal import Deal, Met

#: Sessions that a task moves by, on the mean, less one, where it may stand in more than ``NARROW``
#: others; in fewer all are as likely (tried out).
REACH, NARROW = 1.5, 5
#: Share of tasks sent for which another comes back where there is one, and how many are drawn to
#: find one that may (tried out).
BACK, DRAWN = 0.7, 4


class DealSteps:
    """Makes steps of one deal; no task goes past its session of ``high``."""

    def __init__(self, deal: Deal, high: Sequence[int], chance: Callable[[], float]) -> None:
        self.deal, self.high, self.chance = deal, high, chance
        self.low = deal.sessions.low
        self.first, self.last = deal.sessions.first, deal.sessions.last

    def make(self, count: int, temperature: float, below: float) -> Met | None:
        """Draw ``count`` steps and make those that please at a temperature.

        The cheapest deal met that has no overfull session and costs less than ``below``, or None.
        """
        deal, chance = self.deal, self.chance
        met: Met | None = None
        tasks = len(self.low)
        for _ in range(count):
            task = int(chance() * tasks)
            there = self._session(task)
            if there < 0:
                continue
            other = self._back(task, there)
            if other == task:
                continue
            if not deal.trade(task, there, other, -temperature * log(1.0 - chance())):
                continue
            if found := deal.met(below):
                below, met = found.cost, found
        return met

    def _session(self, task: int) -> int:
        """Another session in which the task may stand now, of many a near one; -1 for none."""
        place, chance = self.deal.place, self.chance
        low, high, here = self.low[task], self.high[task], place[task]
        for other, limit in self.first[task]:
            if limit[place[other]] > low:
                low = limit[place[other]]
        for other, limit in self.last[task]:
            if limit[place[other]] < high:
                high = limit[place[other]]
        if low >= high:
            return -1
        if high - low <= NARROW:
            there = low + int(chance() * (high - low))
            return there if there < here else there + 1
        step = 1 + int(-log(1.0 - chance()) * REACH)
        there = here - step if chance() < 0.5 else here + step
        return there if low <= there <= high else -1

    def _back(self, task: int, there: int) -> int:
        """A task that comes back from there; -1 for none, ``task`` itself if one may not."""
        inside = self.deal.inside[there]
        if not inside or self.chance() >= BACK:
            return -1
        here, count = self.deal.place[task], len(inside)
        for _ in range(DRAWN):
            other = inside[int(self.chance() * count)]
            if self._may_stand(other, here, task, there):
                return other
        return task

    def _may_stand(self, task: int, session: int, moved: int, there: int) -> bool:
        """Whether a task may stand in a session once another has ``moved`` there."""
        if not self.low[task] <= session <= self.high[task]:
            return False
        place = self.deal.place
        for other, limit in self.first[task]:
            if limit[there if other == moved else place[other]] > session:
                return False
        for other, limit in self.last[task]:
            if limit[there if other == moved else place[other]] < session:
                return False
        return True
