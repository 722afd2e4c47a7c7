"""Plans by frames: a cheap frame is packed, and where that fails the next one has to give way.

A frame (frames.py) is annealed (framing.py), and its tasks are packed (framepacking.py). A packing
without an overfull session is put in order session by session and becomes a plan. One that fails
tells by a cut (framecuts.py) which sessions the next frame has to ask less of.
"""

from __future__ import annotations

from collections.abc import Callable

from decaljobs.craft.plan.budget import Budget
from decaljobs.craft.plan.framecuts import Cut
from decaljobs.craft.plan.framepacking import FramePacking
from decaljobs.craft.plan.frames import Frame, Frames
from decaljobs.craft.plan.framing import Framing, Heat
from decaljobs.craft.plan.guide import Guide
from decaljobs.craft.plan.model import FAR, Model
from decaljobs.craft.plan.orders import Orders
from decaljobs.craft.plan.packing import Sessions, last_ends, last_sessions
from decaljobs.craft.plan.timeline import Timeline

#: Shares of the time for the first frame, for one from anew and for the next after a packing;
#: and for the packing of the first and of the next ones (all tried out).
FIRST, ANEW, NEXT, FIRST_PACKED, NEXT_PACKED = 0.14, 0.02, 0.01, 0.06, 0.02
#: Heats for a frame from anew, and for one next to the last (tried out).
GREAT, SMALL = Heat(0.1, 0.03, 0.1, 0.5), Heat(0.01, 0.003, 0.2, 1.0)
#: Minutes too many that please a packing, at the start and the end (tried out).
WARM, COOL = 1.0, 0.5
#: Minutes of every run of sessions that are left free, since tasks seldom fill them to the last
#: (tried out).
MARGIN = 3
#: Steps of a packing between two looks at the clock.
STEPS = 2000
#: A packing that has still so many minutes too many at a share of its time is given up (tried out).
SOON, HOPELESS = 0.4, 25
#: A packing that ends with so few minutes too many goes on once more, one that is nearer still so
#: many times (tried out).
NEARLY, NEAREST, MOST_AGAIN = 6, 3, 4
#: Steps with less room in a session that found no order, at a temperature, and how often a packing
#: may be so near its end that it begins its time anew for them (all tried out).
SHAKE, SHAKEN, MOST_SHAKEN = 500, 1.0, 20
#: What a cut asks for: a share of the minutes too many, and at the least (tried out).
RELIEF, LEAST_RELIEF = 0.3, 2.0
#: A session that was overfull by this share of the worst has the full price; cuts kept (tried out).
IN_FULL, MOST_CUTS = 0.5, 20
#: What a frame has to save of the best plan's cost, a share, at first; and how many times less
#: once there is no such frame (tried out).
GAIN, LESS = 0.02, 4.0
#: From this share of the time on, as long as there is no plan, cuts ask for so many times more
#: (tried out).
LATE, MORE = 0.4, 3.0
#: More tasks in one group of projects are too many for frames to be tried often enough.
MOST_TOGETHER = 60


class Framer:
    """Looks for plans by frames; ``best`` is the best plan met.

    The timeline must be one that can be dealt (dealing.py).
    """

    def __init__(self, timeline: Timeline, guide: Guide, chance: Callable[[], float]) -> None:
        self.best = self.begun_with = timeline
        self.guide, self.chance = guide, chance
        self.model = model = timeline.model
        self.sessions = Sessions(model)
        self.orders = Orders(self.sessions)
        self.limits = last_ends(model)
        self.place = [place.session for place in timeline.slots.place]
        count = min(len(self.sessions.room), max(self.place) + 2)
        self.frames = Frames(self.sessions, last_sessions(model), count)
        self.frame = _frame_of(model, self.place)
        self.cuts: list[Cut] = []
        #: Tasks of a session that found no order.
        self.refused: set[tuple[int, frozenset[int]]] = set()
        self.gain, self.margin = GAIN, MARGIN
        self.below, self.tries = float("inf"), 0

    @property
    def suits(self) -> bool:
        """Whether frames can be tried often enough."""
        return all(len(group.tasks) <= MOST_TOGETHER for group in self.frames.groups)

    def run(self, budget: Budget) -> None:
        """Until the budget is spent."""
        frame = self._framed(budget, FIRST, GREAT)
        packed = FIRST_PACKED
        while budget.spent(self.tries) < 1.0:
            if frame is None:
                if not self.cuts:
                    self.gain /= LESS
                    if self.best is self.begun_with:
                        self.margin = 0  # maybe sessions have to be filled to the last minute
                self.cuts.clear()
                frame = self._framed(budget, ANEW, GREAT)
                continue
            self.frame = frame
            self._pack(frame, budget, packed)
            packed = NEXT_PACKED
            frame = self._framed(budget, NEXT, SMALL)

    def _framed(self, budget: Budget, share: float, heat: Heat) -> Frame | None:
        """The cheapest frame met from the last one on that may become a better plan."""
        below = min(self.below, self.best.cost * (1 - self.gain))
        framing = Framing(self.frames, self.frame, self.cuts, self.margin, below, self.chance)
        framing.run(budget.part(share, self.tries), heat)
        self.tries += framing.tries
        return framing.best and self.frames.eased(framing.best)

    def _pack(self, frame: Frame, budget: Budget, share: float) -> None:
        """Pack a frame for a share of the time: a plan comes of it, or a cut."""
        packing = FramePacking(self.frames, frame, self.place, self.chance)
        if self._packed(packing, budget, share):
            # Should the plan be no better, then a dearer frame would be of no use either.
            self.below = min(self.below, self.frames.cost(frame))
            self.cuts.clear()
            self.place = packing.place
            return
        self.place = packing.best_place
        is_late = self.best is self.begun_with and budget.spent(self.tries) > LATE
        self._cut(frame, packing, MORE if is_late else 1.0)

    def _packed(self, packing: FramePacking, budget: Budget, share: float) -> bool:
        """Whether a packing became a plan in a share of the time, or more if it is near that."""
        part, tries, again, shaken = budget.part(share, self.tries), 0, 0, 0
        while True:
            spent = part.spent(tries)
            if spent >= 1.0:
                if packing.best > (NEAREST if again else NEARLY) or again >= MOST_AGAIN:
                    return False
                again, tries, part = again + 1, 0, budget.part(share, self.tries)
            self.tries += 1
            tries += 1
            packing.run(STEPS, WARM * (COOL / WARM) ** spent)
            if packing.over:
                if spent > SOON and packing.best > HOPELESS:
                    return False
                continue
            stuck = self._put_in_order(packing)
            if stuck < 0:
                return True
            packing.shake(stuck, SHAKE, SHAKEN)
            if spent > 0.5 and shaken < MOST_SHAKEN:
                shaken, tries, part = shaken + 1, 0, budget.part(share, self.tries)

    def _put_in_order(self, packing: FramePacking) -> int:
        """Make a plan of a packing; the session that found no order, or -1."""
        for session, tasks in enumerate(packing.inside):
            if (session, frozenset(tasks)) in self.refused:
                return session
        order = self.orders.of(packing.place, self.limits, FAR)
        if order.stuck >= 0:
            self.refused.add((order.stuck, frozenset(packing.inside[order.stuck])))
            return order.stuck
        unsprayed = self.sessions.unsprayed(packing.place)
        plan = Timeline(self.model, order.tasks, unsprayed, self.guide)
        if plan.cost < self.best.cost:
            self.best = plan
        return -1

    def _cut(self, frame: Frame, packing: FramePacking, times: float) -> None:
        """Ask the next frame for less in the sessions that were overfull, so many times less."""
        full = max(packing.seen) * IN_FULL
        if not full:
            return
        prices = [min(1.0, seen / full) for seen in packing.seen]
        relief = times * max(LEAST_RELIEF, RELIEF * packing.best)
        self.cuts = [*self.cuts, Cut(self.frames, prices, frame, relief)][-MOST_CUTS:]


def _frame_of(model: Model, place: list[int]) -> Frame:
    """The frame in which tasks stand in their sessions ``place``."""
    last = tuple(max(place[task] for task in closing) for closing in model.closing)
    spraying = 0
    for task, air in enumerate(model.airbrush):
        if air:
            spraying |= 1 << place[task]
    return Frame(last, spraying)
