"""Packing: tasks dealt to one maker's sessions, each within its window, none overfull.

Only minutes count here, not the order inside a session, so a change costs next to nothing; for
what packs well an order is then looked for.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from math import log
from typing import NamedTuple

from decaljobs.craft.plan.guide import latest_within, sorted_by_waits
from decaljobs.craft.plan.model import Model, ReadyTable

#: Share of the changes that send another task back, and draws to find one.
BACK, DRAWS = 0.5, 5
#: What one more session of spraying than allowed counts as, minutes too many (tried out).
SPRAYED_TOO_OFTEN = 8
#: What tasks count as that could not be ordered in a session, minutes too many (tried out).
DISLIKED = 5


class Link(NamedTuple):
    """Another task, and for each session of the one the first or last session of the other."""

    task: int
    limit: list[int]


def last_sessions(model: Model) -> list[int]:
    """The session after which each task has no more; an earlier one only where it is pinned.

    >>> from types import SimpleNamespace as Part
    >>> last_sessions(Part(benches=[Part(starts=[0, 1440, 2880])], latest=[10**9, 30]))
    [1, 0]
    """
    starts = model.benches[0].starts[:-1]
    return [bisect_right(starts, latest) - 1 for latest in model.latest]


def last_ends(model: Model) -> list[int]:
    """The minute by which each task has to end; an early one only where it is pinned.

    >>> from types import SimpleNamespace as Part
    >>> last_ends(Part(horizon=2000, latest=[10**9, 30], minutes=[20, 20]))
    [2000, 50]
    """
    return [
        min(model.horizon, latest + minutes)
        for latest, minutes in zip(model.latest, model.minutes, strict=True)
    ]


class Sessions:
    """What packings of one model share: rooms, and how waits tie the sessions of tasks."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.starts, self.ends = model.benches[0].starts[:-1], model.benches[0].ends[:-1]
        self.room = [end - start for start, end in zip(self.starts, self.ends, strict=True)]
        self.earlier: list[list[Link]] = [[] for _ in model.tasks]
        self.later: list[list[Link]] = [[] for _ in model.tasks]
        #: By task those it waits for, with its first session for each of theirs, and those that
        #: wait for it, with its last session.
        self.first: list[list[Link]] = [[] for _ in model.tasks]
        self.last: list[list[Link]] = [[] for _ in model.tasks]
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
        self.first[later].append(Link(task, first))
        self.waits[task].append((later, table))
        self.earlier[later].append(Link(task, last))
        self.last[task].append(Link(later, last))
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

    def unsprayed(self, place: Sequence[int]) -> set[int]:
        """The sessions that need no airbrush if tasks stand in their sessions ``place``."""
        airbrush = self.model.airbrush
        return set(range(len(self.room))) - {
            s for s, air in zip(place, airbrush, strict=True) if air
        }

    def lead(self, task: int) -> int:
        """Minutes from a session's start to the task's end at the soonest."""
        return self.model.minutes[task] + self.model.setup * self.model.airbrush[task]

    def windows(self, ends: Sequence[int]) -> list[int] | None:
        """Each task's last session if none ends past ``ends`` (minutes); None if one has none."""
        model = self.model
        latest = latest_within(model, ends)
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
        """Whether every run of sessions has room for the tasks that cannot leave it."""
        model, count = self.model, len(self.room)
        held = [[0] * count for _ in range(count)]  # minutes by last and first session
        sprayed = [-1] * count  # by last session: the latest first session of spraying
        for task, (first, last) in enumerate(zip(self.low, high, strict=True)):
            held[last][first] += model.minutes[task]
            if model.airbrush[task]:
                sprayed[last] = max(sprayed[last], first)
        due = [0] * count
        for last in range(max(high) + 1):
            due = [known + minutes for known, minutes in zip(due, held[last], strict=True)]
            spraying = max(sprayed[: last + 1])
            left = 0
            for first in range(last, -1, -1):
                left += self.room[first] - due[first]
                if left < (model.setup + model.cleaning) * (first <= spraying):
                    return False
        return True

    def least_sprayed(self, high: Sequence[int]) -> int:
        """In how many sessions there is spraying at the least, by the windows of its tasks."""
        spraying = [task for task, air in enumerate(self.model.airbrush) if air]
        last, sessions = -1, 0
        for task in sorted(spraying, key=high.__getitem__):
            if self.low[task] > last:
                last, sessions = high[task], sessions + 1
        return sessions


class Packing:
    """Tasks in sessions between ``low`` and ``high``; ``over`` is the minutes too many.

    Work ends by minute ``until``, and at most ``sprayed`` sessions spray.
    """

    def __init__(
        self,
        sessions: Sessions,
        high: Sequence[int],
        chance: Callable[[], float],
        until: int,
        sprayed: int,
    ) -> None:
        self.sessions, self.high, self.chance = sessions, high, chance
        self.sprayed = sprayed
        count = len(sessions.room)
        self._measure(until)
        self.place = sessions.low[:]
        self.free = [task for task, last in enumerate(high) if last > sessions.low[task]]
        self.load, self.sprays, self.holds = [0] * count, [0] * count, [0] * count
        self.disliked: dict[int, int] = {}
        for task, session in enumerate(self.place):
            self._add(task, session, 1)
        self._count()

    def _measure(self, until: int) -> None:
        """For each session the minutes for tasks, without and with spraying, negative."""
        model, sessions = self.sessions.model, self.sessions
        self.bare, self.with_spraying = [], []
        for start, room in zip(sessions.starts, sessions.room, strict=True):
            reach = max(0, until - start)
            self.bare.append(-min(room, reach))
            self.with_spraying.append(model.setup - min(room - model.cleaning, reach))

    def _count(self) -> None:
        self.excess = [self._over(session) for session in range(len(self.load))]
        self.over = sum(self.excess) + self._too_often()

    def _over(self, session: int) -> int:
        bounds = self.with_spraying if self.sprays[session] else self.bare
        over = max(0, self.load[session] + bounds[session])
        return over + self.disliked.get(self.holds[session], 0)

    def _too_often(self) -> int:
        used = len(self.sprays) - self.sprays.count(0)
        return SPRAYED_TOO_OFTEN * max(0, used - self.sprayed)

    def dislike(self, session: int) -> None:
        """Make it costly to have just these tasks in the session."""
        held = self.holds[session]
        self.disliked[held] = self.disliked.get(held, 0) + DISLIKED
        self._count()

    def begin_anew(self) -> None:
        """Every task back to its first session."""
        self._put(dict(enumerate(self.sessions.low)))
        self._count()

    def change(self, temperature: float) -> None:
        """Send a task to another session, with what its waits drag along, if that pleases."""
        if not self.free:
            return
        changes = self._drawn()
        if not self._dragged(changes):
            return
        place, excess = self.place, self.excess
        was = {task: place[task] for task in changes}
        self._put(changes)
        after = {session: self._over(session) for session in {*was.values(), *changes.values()}}
        over = sum(excess) + self._too_often()
        for session, minutes in after.items():
            over += minutes - excess[session]
        if over > self.over - temperature * log(1.0 - self.chance()):
            self._put(was)
            return
        self.over = over
        for session, minutes in after.items():
            excess[session] = minutes

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
        for task, session in changes.items():
            self._add(task, self.place[task], -1)
            self._add(task, session, 1)
            self.place[task] = session

    def _add(self, task: int, session: int, times: int) -> None:
        model = self.sessions.model
        self.load[session] += times * model.minutes[task]
        self.holds[session] += times << task
        if model.airbrush[task]:
            self.sprays[session] += times

    def unsprayed(self) -> list[int]:
        """The sessions that need no airbrush."""
        return [session for session, sprays in enumerate(self.sprays) if not sprays]
