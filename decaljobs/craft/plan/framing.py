"""Framing: cheap frames, annealed, whose tasks may fit as far as bounds can tell.

What is lacking has a price on the way: the minutes that the worst run of sessions lacks, and those
that cuts ask for.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from decaljobs.craft.plan.budget import Budget
from decaljobs.craft.plan.framecuts import Cut
from decaljobs.craft.plan.framemoves import FrameMoves
from decaljobs.craft.plan.frames import Frame, Frames, Runs, Windows
from decaljobs.craft.plan.search import delay_cost
from decaljobs.craft.plan.tasks import AIRBRUSH_COST

#: Changes tried between two looks at the clock.
BATCH = 200

Priced = NDArray[np.float64]
Found = list[tuple[int, Windows]]


class Heat(NamedTuple):
    """At first and at last: temperatures, and prices of a lacking minute.

    All are shares of what a session's delay costs.
    """

    hot: float
    cold: float
    price: float
    dear: float


class Framing:
    """Anneals frames; ``best`` is the cheapest met that lacks nothing, if below a cost.

    All runs of sessions are to keep ``margin`` minutes free.
    """

    def __init__(
        self,
        frames: Frames,
        frame: Frame,
        cuts: Sequence[Cut],
        margin: int,
        below: float,
        chance: Callable[[], float],
    ) -> None:
        self.frames, self.cuts, self.chance = frames, cuts, chance
        self.moves = FrameMoves(frames.count, chance)
        self.delay = delay_cost(frames.model)
        self.priced: dict[tuple[int, tuple[int, ...], tuple[int, ...]], Priced] = {}
        self.last, self.spraying = list(frame.last), frame.spraying
        self.ending = [0] * frames.count
        for project, session in enumerate(self.last):
            self.ending[session] |= 1 << project
        self.parts = frames.parts(frame)
        self.lacks = sum((part.held for part in self.parts), -frames.room(frame.spraying))
        self.lacks[0] += margin
        self.beyond = sum(
            (self._asked(number, part) for number, part in enumerate(self.parts)),
            self._sprayed(frame.spraying) - np.array([cut.limit for cut in cuts]),
        )
        self.lack, self.cost = _lack(self.lacks, self.beyond), frames.cost(frame)
        self.best: Frame | None = None
        self.below, self.tries = below, 0
        self._remember()

    def _remember(self) -> None:
        if self.lack <= 0 and self.cost < self.below:
            self.best, self.below = Frame(tuple(self.last), self.spraying), self.cost

    def _asked(self, number: int, windows: Windows) -> Priced:
        """What a group asks for by each cut."""
        key = (number, windows.low, windows.high)
        if key not in self.priced:
            self.priced[key] = np.array([cut.asked(number, windows) for cut in self.cuts])
        return self.priced[key]

    def _sprayed(self, spraying: int) -> Priced:
        return np.array([cut.sprayed(spraying) for cut in self.cuts])

    def run(self, budget: Budget, heat: Heat) -> None:
        """Until the budget is spent."""
        while (share := budget.spent(self.tries)) < 1.0:
            temperature = self.delay * heat.hot * (heat.cold / heat.hot) ** share
            price = self.delay * heat.price * (heat.dear / heat.price) ** share
            self.tries += 1
            for _ in range(BATCH):
                if self._change(temperature, price):
                    self._remember()

    def _change(self, temperature: float, price: float) -> bool:
        """Try a change; whether it was made."""
        bound = self.cost + price * self.lack - temperature * log(1.0 - self.chance())
        if self.moves.is_of_spraying():
            return self._spray(self.moves.spraying(self.spraying), bound, price)
        changes = self.moves.ends(self.last)
        return bool(changes) and self._end(changes, bound, price)

    def _end(self, changes: dict[int, int], bound: float, price: float) -> bool:
        """Let projects end in other sessions if cost and lack stay within the bound."""
        ending = self._ending_after(changes)
        cost, ends = self.cost, self.frames.ends
        for session, projects in ending.items():
            cost += ends.cost(session, projects) - ends.cost(session, self.ending[session])
        last = self.last[:]
        for project, session in changes.items():
            last[project] = session
        cost += self._end_of(last) - self._end_of(self.last)
        if cost > bound:  # so that most are refused before their windows are looked at
            return False
        found = self._windows({self.frames.group_of[p] for p in changes}, last, self.spraying)
        if found is None or not self._judged(found, self.lacks, self.beyond, cost, bound, price):
            return False
        self.last = last
        for session, projects in ending.items():
            self.ending[session] = projects
        return True

    def _ending_after(self, changes: dict[int, int]) -> dict[int, int]:
        """The projects (masks) that end in the sessions where that changes."""
        ending: dict[int, int] = {}
        for project, there in changes.items():
            for session in (self.last[project], there):
                ending[session] = ending.get(session, self.ending[session]) ^ 1 << project
        return ending

    def _end_of(self, last: Sequence[int]) -> int:
        return self.frames.sessions.starts[max(last)]

    def _spray(self, spraying: int, bound: float, price: float) -> bool:
        """Spray in other sessions if cost and lack stay within the bound."""
        more, less = spraying & ~self.spraying, self.spraying & ~spraying
        cost = self.cost + AIRBRUSH_COST * (more.bit_count() - less.bit_count())
        if not more | less or cost > bound:
            return False
        touched = [n for n, p in enumerate(self.parts) if p.gains & more or p.losses & less]
        found = self._windows(touched, self.last, spraying)
        if found is None:
            return False
        lacks = self.lacks
        for session in range(self.frames.count):
            if more >> session & 1:
                lacks = lacks - self.frames.by_spraying[session]
            elif less >> session & 1:
                lacks = lacks + self.frames.by_spraying[session]
        beyond = self.beyond + (self._sprayed(spraying) - self._sprayed(self.spraying))
        if not self._judged(found, lacks, beyond, cost, bound, price):
            return False
        self.spraying = spraying
        return True

    def _windows(
        self, groups: Sequence[int] | set[int], last: Sequence[int], spraying: int
    ) -> Found | None:
        """The new windows of some groups; None if a task has none."""
        found, frames = [], self.frames
        for number in groups:
            ends = tuple([last[project] for project in frames.groups[number].projects])
            windows = frames.windows(number, ends, spraying)
            if windows is None:
                return None
            found.append((number, windows))
        return found

    def _judged(
        self, found: Found, lacks: Runs, beyond: Priced, cost: float, bound: float, price: float
    ) -> bool:
        """Take the windows found if cost and lack with them stay within the bound."""
        for number, windows in found:
            was = self.parts[number]
            lacks = lacks + (windows.held - was.held)
            if self.cuts:
                beyond = beyond + (self._asked(number, windows) - self._asked(number, was))
        lack = _lack(lacks, beyond)
        if cost + price * lack > bound:
            return False
        self.lacks, self.beyond, self.lack, self.cost = lacks, beyond, lack, cost
        for number, windows in found:
            self.parts[number] = windows
        return True


def _lack(lacks: Runs, beyond: Priced) -> float:
    """The minutes that the worst run lacks, and those beyond the limits of the cuts."""
    lack = float(max(0, lacks.max()))
    return lack + float(beyond[beyond > 0].sum()) if len(beyond) else lack
