"""Frames: in which session each project ends at the latest, and which sessions have spraying.

A frame tells, but for minutes, what a plan costs, and the window of every task: its first and last
session. Whether the tasks fit is bounded by runs of sessions: the minutes that cannot leave a run
must not be more than it holds, neither those of all tasks nor those of the sprayed ones.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from decaljobs.craft.plan.dealends import Ends
from decaljobs.craft.plan.framegroups import Group, groups_of
from decaljobs.craft.plan.packing import Sessions
from decaljobs.craft.plan.tasks import AIRBRUSH_COST

#: Minutes of all tasks and of the sprayed ones, by first and last session of a run: (2, n, n).
Runs = NDArray[np.int32]
#: More minutes than any tasks have.
PLENTY = 10**6
#: So many windows are remembered before all are forgotten, lest they fill the memory.
MOST_KNOWN = 20_000


class Frame(NamedTuple):
    """By project its last session, and the sessions with spraying, as a mask."""

    last: tuple[int, ...]
    spraying: int


class Windows(NamedTuple):
    """First and last session of each task of a group, in its order.

    ``held`` are the minutes that cannot leave a run. Spraying in one more session of the mask
    ``gains``, or in one less of ``losses``, changes the windows.
    """

    low: tuple[int, ...]
    high: tuple[int, ...]
    held: Runs
    gains: int
    losses: int


#: First sessions of a group's tasks, and ``gains`` and ``losses`` of ``Windows`` by them.
_Lows = tuple[tuple[int, ...], int, int]
_Key = tuple[int, tuple[int, ...], int]


class Frames:
    """The frames over a model's first ``count`` sessions; no task goes past its ``high``."""

    def __init__(self, sessions: Sessions, high: Sequence[int], count: int) -> None:
        self.sessions, self.model, self.high, self.count = sessions, sessions.model, high, count
        self.ends = Ends(sessions)
        self.overhead = self.model.setup + self.model.cleaning
        self.groups = groups_of(sessions)
        self.group_of = {
            project: number
            for number, group in enumerate(self.groups)
            for project in group.projects
        }
        #: Minutes too many by minutes free, of which there can be no more or fewer in a session;
        #: negative ones count from the end.
        most = max(sessions.room) + 2 * sum(self.model.minutes)
        self.too_many = [0] * most + list(range(most, 0, -1))
        self._forget()
        self.bare = self._without_spraying()
        #: By session, what a run has more or less room for if there is spraying.
        self.by_spraying = [self._with_spraying(session) for session in range(count)]

    def _forget(self) -> None:
        self.known: dict[_Key, Windows | None] = {}
        self.lows: dict[tuple[int, int], _Lows | None] = {}
        self.helds: dict[tuple[int, tuple[int, ...], tuple[int, ...]], Runs] = {}
        self.snapped: dict[int, tuple[list[int], list[int]]] = {}

    def _without_spraying(self) -> Runs:
        total = np.concatenate([[0], np.cumsum(self.sessions.room[: self.count])])
        rooms = np.zeros((2, self.count, self.count), np.int32)
        rooms[0] = total[None, 1:] - total[:-1, None]
        first, last = np.tril_indices(self.count, -1)
        rooms[:, first, last] = PLENTY  # no run ends before it begins
        return rooms

    def _with_spraying(self, session: int) -> Runs:
        across = np.arange(self.count)
        within = (across[:, None] <= session) & (session <= across[None, :])
        sprayed = self.sessions.room[session] - self.overhead
        return np.stack([-self.overhead * within, sprayed * within]).astype(np.int32)

    def room(self, spraying: int) -> Runs:
        """The minutes that each run holds with those sessions of spraying."""
        rooms = self.bare.copy()
        for session in range(self.count):
            if spraying >> session & 1:
                rooms += self.by_spraying[session]
        return rooms

    def snaps(self, spraying: int) -> tuple[list[int], list[int]]:
        """For each session the next one with spraying, and the one before, which may be itself.

        ``count`` and -1 stand for none.
        """
        if spraying not in self.snapped:
            later, earlier = [self.count] * self.count, [-1] * self.count
            found = self.count
            for session in range(self.count - 1, -1, -1):
                found = later[session] = session if spraying >> session & 1 else found
            found = -1
            for session in range(self.count):
                found = earlier[session] = session if spraying >> session & 1 else found
            self.snapped[spraying] = later, earlier
        return self.snapped[spraying]

    def windows(self, number: int, last: tuple[int, ...], spraying: int) -> Windows | None:
        """The windows of a group whose projects end by ``last``; None if a task has none."""
        spraying &= (2 << max(last)) - 1  # what comes after the last end does not matter
        key = (number, last, spraying)
        if key not in self.known:
            if len(self.known) >= MOST_KNOWN:
                self._forget()
            self.known[key] = self._worked_out(key)
        return self.known[key]

    def parts(self, frame: Frame) -> list[Windows]:
        """The windows of all groups; ValueError if a task has none."""
        found = []
        for number, group in enumerate(self.groups):
            last = tuple(frame.last[project] for project in group.projects)
            windows = self.windows(number, last, frame.spraying)
            if windows is None:
                raise ValueError(f"a task of group {number} has no session in the frame")
            found.append(windows)
        return found

    def _worked_out(self, key: _Key) -> Windows | None:
        number, last, spraying = key
        begun = self._low(number, spraying)
        if begun is None:
            return None
        low, gains, losses = begun
        group, (_, earlier) = self.groups[number], self.snaps(spraying)
        end = dict(zip(group.projects, last, strict=True))
        high = [0] * len(group.tasks)
        for place in range(len(group.tasks) - 1, -1, -1):
            task = group.tasks[place]
            wanted = min([self.high[task], *(end[project] for project in group.closes[place])])
            for later, limit in group.awaited_by[place]:
                wanted = min(wanted, limit[high[later]])
            if wanted < low[place]:
                return None
            high[place] = wanted
            if self.model.airbrush[task]:
                high[place] = session = earlier[wanted]
                if session < low[place]:
                    return None
                gains |= (2 << wanted) - (2 << session)
                losses |= 1 << session
        return Windows(low, tuple(high), self._held(number, low, tuple(high)), gains, losses)

    def _low(self, number: int, spraying: int) -> _Lows | None:
        key = (number, spraying)
        if key not in self.lows:
            self.lows[key] = self._low_worked_out(self.groups[number], spraying)
        return self.lows[key]

    def _low_worked_out(self, group: Group, spraying: int) -> _Lows | None:
        later, _ = self.snaps(spraying)
        low: list[int] = []
        gains = losses = 0
        for place, task in enumerate(group.tasks):
            wanted = self.sessions.low[task]
            for other, limit in group.waits_for[place]:
                wanted = max(wanted, limit[low[other]])
            session = wanted
            if wanted < self.count and self.model.airbrush[task]:
                session = later[wanted]
                gains |= (1 << session) - (1 << wanted)
                losses |= 1 << session
            if session >= self.count:
                return None
            low.append(session)
        return tuple(low), gains, losses

    def _held(self, number: int, low: tuple[int, ...], high: tuple[int, ...]) -> Runs:
        key = (number, low, high)
        if key not in self.helds:
            held = np.zeros((2, self.count, self.count), np.int32)
            for task, first, last in zip(self.groups[number].tasks, low, high, strict=True):
                held[: 1 + self.model.airbrush[task], first, last] += self.model.minutes[task]
            # Summed up over all windows within a run, in place.
            np.add.accumulate(held, 2, out=held)
            np.add.accumulate(held[:, ::-1], 1, out=held[:, ::-1])
            self.helds[key] = held
        return self.helds[key]

    def cost(self, frame: Frame) -> float:
        """What a plan of that frame costs at the least, about, in minutes."""
        ending: dict[int, int] = {}
        for project, session in enumerate(frame.last):
            ending[session] = ending.get(session, 0) | 1 << project
        late = sum(self.ends.cost(session, projects) for session, projects in ending.items())
        end = self.sessions.starts[max(frame.last)]
        return late + end + AIRBRUSH_COST * frame.spraying.bit_count()

    def eased(self, frame: Frame) -> Frame:
        """The frame with every project ending as late as it costs no more."""
        cost = self.cost(frame)
        for project, last in enumerate(frame.last):
            for session in range(self.count - 1, last, -1):
                ends = (*frame.last[:project], session, *frame.last[project + 1 :])
                if self.cost(frame._replace(last=ends)) <= cost:
                    frame = frame._replace(last=ends)
                    break
        return frame
