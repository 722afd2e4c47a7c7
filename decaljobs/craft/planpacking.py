"""Packing: tasks dealt to one maker's sessions, each within its window, none overfull.

Only minutes count here, not the order inside a session, so a change costs next to nothing; what
packs well is then tried as a real plan.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from math import log
from typing import NamedTuple

from decaljobs.craft.planguide import latest_ends, sorted_by_waits
from decaljobs.craft.planmodel import Model, ReadyTable

#: Minutes too many that are borne at the start and at the end of a packing (tried out).
WARM, COOL = 5.0, 2.0
#: Share of the changes that send another task back, and draws to find one.
BACK, DRAWS = 0.5, 5


class Link(NamedTuple):
    """Another task, and for each session of the one the first or last session of the other."""

    task: int
    limit: list[int]


class Sessions:
    """What packings of one model share: rooms, and how waits tie the sessions of tasks."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.starts, self.ends = model.benches[0].starts[:-1], model.benches[0].ends[:-1]
        self.room = [end - start for start, end in zip(self.starts, self.ends, strict=True)]
        self.earlier: list[list[Link]] = [[] for _ in model.tasks]
        self.later: list[list[Link]] = [[] for _ in model.tasks]
        self.waits: list[list[tuple[int, ReadyTable]]] = [[] for _ in model.tasks]
        self.low = [bisect_right(self.ends, release) for release in model.release]
        self.by_waits = sorted_by_waits(model)
        for task in self.by_waits:
            for other, table in model.before[task]:
                self._tie(other, task, table)

    def _tie(self, task: int, later: int, table: ReadyTable) -> None:
        count = len(self.starts)
        first = [self._first(task, later, table, session) for session in range(count)]
        last = [bisect_right(first, session) - 1 for session in range(count)]
        self.later[task].append(Link(later, first))
        self.waits[task].append((later, table))
        self.earlier[later].append(Link(task, last))
        low = self.low[task]
        self.low[later] = max(self.low[later], first[low] if low < count else count)

    def _first(self, task: int, later: int, table: ReadyTable, session: int) -> int:
        """The first session for ``later`` if ``task`` is done as early in its own as can be."""
        model = self.model
        ready = table[self.starts[session] + self.lead(task)]
        rest = model.minutes[later] + model.cleaning * model.airbrush[later]
        found = max(session, bisect_right(self.ends, ready))
        while found < len(self.ends) and max(self.starts[found], ready) + rest > self.ends[found]:
            found += 1
        return found

    def lead(self, task: int) -> int:
        """Minutes from a session's start to the task's end at the soonest."""
        return self.model.minutes[task] + self.model.setup * self.model.airbrush[task]

    def windows(self, promised: Sequence[int]) -> list[int] | None:
        """Each task's last session if its projects end in those promised; None if one has none."""
        model = self.model
        latest = latest_ends(model, [self.ends[session] for session in promised])
        high = [
            bisect_right(self.starts, end - minutes) - 1
            for end, minutes in zip(latest, model.minutes, strict=True)
        ]
        for task in reversed(self.by_waits):
            for later, first in self.later[task]:
                while high[task] >= 0 and first[high[task]] > high[later]:
                    high[task] -= 1
        fits = all(low <= last for low, last in zip(self.low, high, strict=True))
        return high if fits and self._hold(high) else None

    def _hold(self, high: Sequence[int]) -> bool:
        """Whether the sessions hold, one after the other, all that is due in them."""
        due = [0] * len(self.room)
        for task, session in enumerate(high):
            due[session] += self.model.minutes[task]
        left = 0
        for room, minutes in zip(self.room, due, strict=True):
            left += room - minutes
            if left < 0:
                return False
        return True


class Packing:
    """Tasks in sessions between ``low`` and ``high``; ``over`` is the minutes too many."""

    def __init__(
        self, sessions: Sessions, high: Sequence[int], chance: Callable[[], float]
    ) -> None:
        self.sessions, self.high, self.chance = sessions, high, chance
        model = sessions.model
        self.place = sessions.low[:]
        self.free = [task for task, last in enumerate(high) if last > sessions.low[task]]
        self.load = [0] * len(sessions.room)
        self.sprays = [0] * len(sessions.room)
        for task, session in enumerate(self.place):
            self.load[session] += model.minutes[task]
            self.sprays[session] += model.airbrush[task]
        self.airbrush = model.setup + model.cleaning
        self.over = sum(map(self._over, range(len(self.load))))

    def _over(self, session: int) -> int:
        over = self.load[session] - self.sessions.room[session]
        if self.sprays[session]:
            over += self.airbrush
        return max(0, over)

    def change(self, temperature: float) -> None:
        """Send a task to another session, with what its waits drag along, if that pleases."""
        changes = self._drawn()
        if not self._dragged(changes):
            return
        touched = {self.place[task] for task in changes} | set(changes.values())
        was = {task: self.place[task] for task in changes}
        over = self.over - sum(map(self._over, touched))
        self._put(changes)
        over += sum(map(self._over, touched))
        if over > self.over - temperature * log(1.0 - self.chance()):
            self._put(was)
        else:
            self.over = over

    def _drawn(self) -> dict[int, int]:
        chance, free, place = self.chance, self.free, self.place
        low, high = self.sessions.low, self.high
        task = free[int(chance() * len(free))]
        here = place[task]
        there = low[task] + int(chance() * (high[task] - low[task]))
        there += there >= here
        changes = {task: there}
        for _ in range(DRAWS if chance() < BACK else 0):
            other = free[int(chance() * len(free))]
            if place[other] == there and low[other] <= here <= high[other]:
                changes[other] = here
                break
        return changes

    def _dragged(self, changes: dict[int, int]) -> bool:
        """Add what has to move along; False if that leaves a window."""
        place, low, high = self.place, self.sessions.low, self.high
        moved = list(changes)
        while moved:
            task = moved.pop()
            session = changes[task]
            for other, last in self.sessions.earlier[task]:
                if last[session] < changes.get(other, place[other]):
                    if last[session] < low[other]:
                        return False
                    changes[other] = last[session]
                    moved.append(other)
            for other, first in self.sessions.later[task]:
                if first[session] > changes.get(other, place[other]):
                    if first[session] > high[other]:
                        return False
                    changes[other] = first[session]
                    moved.append(other)
        return True

    def _put(self, changes: dict[int, int]) -> None:
        model, place, load = self.sessions.model, self.place, self.load
        for task, session in changes.items():
            was, place[task] = place[task], session
            load[was] -= model.minutes[task]
            load[session] += model.minutes[task]
            if model.airbrush[task]:
                self.sprays[was] -= 1
                self.sprays[session] += 1

    def unsprayed(self) -> list[int]:
        """The sessions that need no airbrush."""
        return [session for session, sprays in enumerate(self.sprays) if not sprays]

    def order(self) -> list[int]:
        """The tasks by session, in each the one first that can least be put off."""
        sessions, model, place = self.sessions, self.sessions.model, self.place
        latest = [0] * len(place)
        for task in reversed(sessions.by_waits):
            session = place[task]
            end = sessions.ends[session]
            if model.closes[task]:
                end = sessions.starts[session] + model.minutes[task]
            for later, table in sessions.waits[task]:
                end = min(end, _begin_before(table, latest[later]))
            latest[task] = end - model.minutes[task]
        rank = {task: number for number, task in enumerate(sessions.by_waits)}
        return sorted(rank, key=lambda task: (place[task], latest[task], rank[task]))


def _begin_before(table: ReadyTable, over: int) -> int:
    """When a wait has to begin to be over in time: closed in on, as it depends on itself."""
    begin = max(0, over - table[0])
    return max(0, over - (table[begin] - begin))
