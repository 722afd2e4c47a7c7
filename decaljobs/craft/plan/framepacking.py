"""Packing of a frame: its tasks dealt to sessions within their windows, so that none is overfull.

Only minutes count here, not the order inside a session. Tasks go to other sessions, mostly in
exchange for one from there, and an overfull session has a price that rises as long as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from math import log

from decaljobs.craft.plan.frames import Frame, Frames
from decaljobs.craft.plan.framestart import Start

#: Share of the steps in which all that is in the way is dragged along, and of those another task
#: sent back; draws to find one that comes back in other steps (all tried out).
DRAG, BACK, DRAWN = 0.03, 0.6, 3
#: How the prices of overfull sessions rise and the others fall at each look, and the steps between
#: two looks (tried out).
RISE, FALL, LOOK = 1.03, 0.997, 100
#: Prices stay numbers, however long a packing takes.
DEAREST = 1e100
#: Minutes of a session that are kept free for a while when its tasks found no order (tried out).
SHAKEN = 10
#: What is drawn as a step's bound at temperature 1.
BOUNDS = [-log(1.0 - (number + 0.5) / 256) for number in range(256)]


class FramePacking:
    """Tasks in sessions; ``over`` is the minutes too many, ``best`` the least of them so far."""

    def __init__(
        self, frames: Frames, frame: Frame, place: Sequence[int], chance: Callable[[], float]
    ) -> None:
        self.frames, self.chance = frames, chance
        self.minutes, self.airbrush = frames.model.minutes, frames.model.airbrush
        self.low, self.high = [0] * len(self.minutes), [0] * len(self.minutes)
        for group, part in zip(frames.groups, frames.parts(frame), strict=True):
            for task, first, last in zip(group.tasks, part.low, part.high, strict=True):
                self.low[task], self.high[task] = first, last
        self.room = [
            room - frames.overhead * (frame.spraying >> session & 1)
            for session, room in enumerate(frames.sessions.room[: frames.count])
        ]
        self.next, self.previous = frames.snaps(frame.spraying)
        self.sprayed = [session == there for session, there in enumerate(self.next)]
        self.free = [task for task, last in enumerate(self.high) if self.low[task] < last]
        self.price = [1.0] * frames.count
        self.seen = [0] * frames.count
        start = Start(frames, self.low, self.high, self.room, frame.spraying)
        self._put(min(start.by_urgency(chance), start.near(place), key=self._over_of))

    def _put(self, place: list[int]) -> None:
        self.place = place
        self.inside: list[list[int]] = [[] for _ in self.room]
        self.load = [0] * len(self.room)
        for task, session in enumerate(place):
            self.inside[session].append(task)
            self.load[session] += self.minutes[task]
        self._count()
        self.best, self.best_place = self.over, place[:]

    def _count(self) -> None:
        self.excess = [max(0, load - room) for load, room in zip(self.load, self.room, strict=True)]
        self.over = sum(self.excess)

    def _over_of(self, place: Sequence[int]) -> int:
        free = self.room[:]
        for task, session in enumerate(place):
            free[session] -= self.minutes[task]
        return -sum(minutes for minutes in free if minutes < 0)

    def shake(self, session: int, count: int, temperature: float) -> None:
        """Make so many steps with less room in a session, for other tasks in it."""
        self.room[session] -= SHAKEN
        self._count()
        self.run(count, temperature, stops=False)
        self.room[session] += SHAKEN
        self._count()
        self.best, self.best_place = self.over, self.place[:]

    def run(self, count: int, temperature: float, *, stops: bool = True) -> None:
        """So many steps, or until nothing is overfull."""
        chance, free, many = self.chance, self.free, len(self.free)
        place, load, room = self.place, self.load, self.room
        excess, price = self.excess, self.price
        lows, highs, sessions = self.low, self.high, self.frames.sessions
        firsts, lasts = sessions.first, sessions.last
        minutes, airbrush, sprayed = self.minutes, self.airbrush, self.sprayed
        too_many = self.frames.too_many
        bounds = [temperature * bound for bound in BOUNDS]
        if not many:
            self._look()
            return
        for step in range(count):
            if stops and not self.over:
                return
            if step % LOOK == 0:
                self._look()
            task, drawn = free[int(chance() * many)], chance()
            if drawn < DRAG:
                self._dragged(task, bounds[int(chance() * 256)])
                continue
            here, low, high = place[task], lows[task], highs[task]
            for other, limit in firsts[task]:
                if limit[place[other]] > low:
                    low = limit[place[other]]
            for other, limit in lasts[task]:
                if limit[place[other]] < high:
                    high = limit[place[other]]
            if low >= high:
                continue
            there = low + int(chance() * (high - low))
            if there >= here:
                there += 1
            if airbrush[task] and not sprayed[there]:
                continue
            work, bound = minutes[task], bounds[int(drawn * 256)]
            bound += price[here] * excess[here] + price[there] * excess[there]
            over = price[here] * too_many[room[here] - load[here] + work]
            if over + price[there] * too_many[room[there] - load[there] - work] <= bound:
                self._send(task, there, -1)
            elif (back := self._partner(task, there, bound)) >= 0:
                self._send(task, there, back)

    def _partner(self, task: int, there: int, bound: float) -> int:
        """A task of another session that may come back; -1 if none is met."""
        here, stand, chance = self.place[task], self.inside[there], self.chance
        free_here, free_there = (
            self.room[here] - self.load[here],
            self.room[there] - self.load[there],
        )
        price_here, price_there = self.price[here], self.price[there]
        minutes, too_many, many = self.minutes, self.frames.too_many, len(stand)
        for _ in range(DRAWN if many else 0):
            back = stand[int(chance() * many)]
            work = minutes[task] - minutes[back]
            over = price_here * too_many[free_here + work]
            if (
                over + price_there * too_many[free_there - work] <= bound
                and self.low[back] <= here <= self.high[back]
                and (self.sprayed[here] or not self.airbrush[back])
                and self._fits(back, here, task, there)
            ):
                return back
        return -1

    def _send(self, task: int, there: int, back: int) -> None:
        """Put a task into another session, and ``back`` (-1: none) from there into its own."""
        here, work, inside = self.place[task], self.minutes[task], self.inside
        inside[here].remove(task)
        inside[there].append(task)
        self.place[task] = there
        if back >= 0:
            inside[there].remove(back)
            inside[here].append(back)
            self.place[back] = here
            work -= self.minutes[back]
        self.load[here] -= work
        self.load[there] += work
        self._noted((here, there))

    def _noted(self, sessions: Iterable[int]) -> None:
        """Count anew what is too many in some sessions."""
        for session in sessions:
            over = max(0, self.load[session] - self.room[session])
            self.over += over - self.excess[session]
            self.excess[session] = over
        if self.over < self.best:
            self.best, self.best_place = self.over, self.place[:]

    def _look(self) -> None:
        """See what is overfull, and make it dearer."""
        price, seen = self.price, self.seen
        for session, over in enumerate(self.excess):
            if over:
                seen[session] += over
                price[session] = min(DEAREST, price[session] * RISE)
            elif price[session] > 1.0:
                price[session] *= FALL

    def _fits(self, task: int, session: int, moved: int, there: int) -> bool:
        """Whether all waits of a task allow it a session once another has ``moved`` there."""
        place = self.place
        for other, limit in self.frames.sessions.first[task]:
            if limit[there if other == moved else place[other]] > session:
                return False
        for other, limit in self.frames.sessions.last[task]:
            if limit[there if other == moved else place[other]] < session:
                return False
        return True

    def _dragged(self, task: int, bound: float) -> None:
        """Send a task anywhere in its window, with all that is in the way."""
        chance, here = self.chance, self.place[task]
        there = self.low[task] + int(chance() * (self.high[task] - self.low[task]))
        there += there >= here
        if self.airbrush[task] and not self.sprayed[there]:
            return
        changes, inside = {task: there}, self.inside[there]
        if inside and chance() < BACK:
            back = inside[int(chance() * len(inside))]
            if self.low[back] <= here <= self.high[back] and (
                self.sprayed[here] or not self.airbrush[back]
            ):
                changes[back] = here
        if self._drag(changes):
            self._change(changes, bound)

    def _drag(self, changes: dict[int, int]) -> bool:
        """Add what has to move along; False if that leaves a window."""
        place, low, high, airbrush = self.place, self.low, self.high, self.airbrush
        moved = list(changes)
        for task in moved:
            session = changes[task]
            for other, limit in self.frames.sessions.earlier[task]:
                there = limit[session]
                if there < changes.get(other, place[other]):
                    if airbrush[other] and there >= 0:
                        there = self.previous[there]
                    if there < low[other]:
                        return False
                    changes[other] = there
                    moved.append(other)
            for other, limit in self.frames.sessions.later[task]:
                there = limit[session]
                if there > changes.get(other, place[other]):
                    if airbrush[other] and there <= high[other]:
                        there = self.next[there]
                    if there > high[other]:
                        return False
                    changes[other] = there
                    moved.append(other)
        return True

    def _change(self, changes: dict[int, int], bound: float) -> None:
        """Put tasks into other sessions if that costs at most ``bound`` more."""
        place, load = self.place, self.load
        shifted: dict[int, int] = {}
        for task, there in changes.items():
            here = place[task]
            shifted[here] = shifted.get(here, 0) - self.minutes[task]
            shifted[there] = shifted.get(there, 0) + self.minutes[task]
        dearer = 0.0
        for session, work in shifted.items():
            over = max(0, load[session] + work - self.room[session])
            dearer += self.price[session] * (over - self.excess[session])
        if dearer > bound:
            return
        for task, there in changes.items():
            self.inside[place[task]].remove(task)
            self.inside[there].append(task)
            place[task] = there
        for session, work in shifted.items():
            load[session] += work
        self._noted(shifted)
