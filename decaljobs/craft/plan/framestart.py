"""Where the packing of a frame begins."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from decaljobs.craft.plan.frames import Frames


class Start:
    """Sessions for all tasks within their windows, which keep every wait."""

    def __init__(
        self,
        frames: Frames,
        low: Sequence[int],
        high: Sequence[int],
        room: Sequence[int],
        spraying: int,
    ) -> None:
        self.frames, self.low, self.high, self.room = frames, low, high, room
        self.minutes, self.airbrush = frames.model.minutes, frames.model.airbrush
        self.next, _ = frames.snaps(spraying)

    def near(self, place: Sequence[int]) -> list[int]:
        """The tasks as near to ``place`` as windows and waits allow."""
        found = list(place)
        for task in self.frames.sessions.by_waits:
            session = min(max(found[task], self.low[task]), self.high[task])
            for other, limit in self.frames.sessions.first[task]:
                session = max(session, limit[found[other]])
            found[task] = self.next[session] if self.airbrush[task] else session
        return found

    def by_urgency(self, chance: Callable[[], float]) -> list[int]:
        """Session by session what has to be done soonest, as far as there is room."""
        place, since = [-1] * len(self.low), list(self.low)
        waits = [len(links) for links in self.frames.sessions.first]
        ready = [task for task, count in enumerate(waits) if not count]
        for session in range(len(self.room)):
            for task in self._done_in(session, ready, since, chance):
                place[task] = session
                ready.remove(task)
                for later, limit in self.frames.sessions.later[task]:
                    since[later] = max(since[later], limit[session])
                    waits[later] -= 1
                    if not waits[later]:
                        ready.append(later)
        return place

    def _done_in(
        self, session: int, ready: Sequence[int], since: Sequence[int], chance: Callable[[], float]
    ) -> Iterator[int]:
        """What is done in a session: all that has to be, and what else there is room for.

        What each of them lets begin is put into ``ready`` before the next is asked for.
        """
        left, passed = self.room[session], set()
        sprayed = self.next[session] == session
        while True:
            open_now = [
                task
                for task in ready
                if since[task] <= session
                and task not in passed
                and (sprayed or not self.airbrush[task])
            ]
            if not open_now:
                return
            ranks = {
                task: (self.high[task], not self.airbrush[task], -self.minutes[task], chance())
                for task in open_now
            }
            task = min(open_now, key=ranks.__getitem__)
            passed.add(task)
            if self.minutes[task] <= left or self.high[task] == session:
                left -= self.minutes[task]
                yield task
