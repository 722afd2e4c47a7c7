"""Free stretches of the sessions, as a task of some rank sees them: lower ranks are invisible."""

from __future__ import annotations

from bisect import bisect_right, insort
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from decaljobs.craft.plan.model import Model


class Place(NamedTuple):
    """A task's session, start and end in minutes, and the start of the airbrush's set-up.

    ``setup`` is -1 unless the task is the first to spray in its session.
    """

    session: int
    start: int
    end: int
    setup: int = -1


NOWHERE = Place(-1, 0, -1)


class Slots:
    """Who holds which stretch of which session; sessions of all makers are numbered in a row."""

    def __init__(self, model: Model, order: Sequence[int], unsprayed: Iterable[int]) -> None:
        self.model = model
        self.starts = [start for bench in model.benches for start in bench.starts]
        self.ends = [end for bench in model.benches for end in bench.ends]
        self.offsets: list[int] = []
        self.from_here: list[int] = []  # masks: a session and its maker's later ones
        for bench in model.benches:
            offset, count = len(self.from_here), len(bench.starts)
            self.offsets.append(offset)
            self.from_here += [((1 << count - n) - 1) << (offset + n) for n in range(count)]
        self.endless = {
            offset + len(bench.sessions)
            for offset, bench in zip(self.offsets, model.benches, strict=True)
        }
        self.unsprayed = set(unsprayed)
        self.order = list(order)
        self.rank = [0] * len(model.tasks)
        for rank, task in enumerate(self.order):
            self.rank[task] = rank
        self.busy: list[list[tuple[int, int, int]]] = [[] for _ in self.starts]
        self.openers: list[list[int]] = [[] for _ in self.starts]
        self.place: list[Place] = [NOWHERE] * len(model.tasks)
        self.sprayed = 0

    def first_session(self, maker: int, ready: int) -> int:
        """The maker's first session that ends after ``ready``."""
        return self.offsets[maker] + bisect_right(self.model.benches[maker].ends, ready)

    def fit(self, task: int, rank: int, session: int, ready: int) -> Place | None:
        """The first stretch of a session, from ``ready`` on, that has room; or None."""
        ranks, model = self.rank, self.model
        start, limit = self.starts[session], self.ends[session]
        if ready > start:
            start = ready
        minutes = model.minutes[task]
        if start + minutes > limit:
            return None
        out = -1
        for opener in self.openers[session]:
            if ranks[opener] < rank:
                out = self.place[opener].setup + model.setup
        if model.airbrush[task]:
            if out < 0:
                return self._fit_setup(task, rank, session, ready)
            if out > start:
                start = out
            limit -= model.cleaning
        elif out >= 0:
            limit -= model.cleaning
        for begin, end, other in self.busy[session]:
            if end > start and ranks[other] < rank:
                if start + minutes <= begin:
                    break
                start = end
        end = start + minutes
        return Place(session, start, end) if end <= limit else None

    def _fit_setup(self, task: int, rank: int, session: int, ready: int) -> Place | None:
        """As ``fit`` where the airbrush is set up before, in the last gap that has room."""
        model, ranks = self.model, self.rank
        minutes, setup = model.minutes[task], model.setup
        limit = self.ends[session] - model.cleaning
        if session in self.unsprayed:
            return None
        busy = [stretch for stretch in self.busy[session] if ranks[stretch[2]] < rank]
        if busy and busy[-1][1] > limit:
            return None
        gap, known = self.starts[session], -1
        for begin, end, _ in [*busy, (limit, limit, -1)]:
            start = max(ready, gap if known >= 0 else gap + setup)
            if start + minutes <= begin:
                known = start - setup if start - gap >= setup else known
                return Place(session, start, start + minutes, known)
            if begin - gap >= setup:
                known = begin - setup
            gap = end
        return None

    def room(self, session: int) -> int:
        """Minutes of a session that nobody holds."""
        held = sum([end - start for start, end, _ in self.busy[session]])
        held += self.model.cleaning * bool(self.openers[session])
        return self.ends[session] - self.starts[session] - held

    def lift(self, task: int) -> None:
        """Give a task's stretch back."""
        session, start, end, setup = self.place[task]
        if session < 0:
            return
        self.busy[session].remove((start, end, task))
        if setup >= 0:
            self.busy[session].remove((setup, setup + self.model.setup, task))
            self.openers[session].remove(task)
            self.sprayed -= 1

    def put(self, task: int, place: Place) -> None:
        """Let a task hold a stretch."""
        session, start, end, setup = place
        self.place[task] = place
        insort(self.busy[session], (start, end, task))
        if setup >= 0:
            insort(self.busy[session], (setup, setup + self.model.setup, task))
            self.openers[session].append(task)
            self.sprayed += 1
