"""A ranking of tasks turned into times, and what a change of the ranking costs.

Each task in turn takes the first stretch that is still free once its waits are over. A change is
tried in place: only tasks that can feel it are placed again, and it is undone if it does not
please.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from decaljobs.craft.plan.guide import Guide
from decaljobs.craft.plan.model import Model
from decaljobs.craft.plan.slots import NOWHERE, Place, Slots
from decaljobs.craft.plan.tasks import AIRBRUSH_COST

#: What a pinned task costs for each minute it starts too late: more than any plan.
PIN_COST = 1e10
ALL = -1  # every session has to be looked at


class Move(NamedTuple):
    """A change: ``stretch`` stands from rank ``first`` on, a reordering of what stands there.

    Only tasks ``moved`` change their order towards others. ``session`` is one that the airbrush
    is kept out of from now on, or no longer; -1 for none.
    """

    first: int
    stretch: Sequence[int]
    moved: Sequence[int]
    session: int = -1


class Timeline:
    """The plan in the making. ``cost`` is in minutes; ``pull`` is the guide's part of it."""

    def __init__(
        self,
        model: Model,
        order: Sequence[int],
        unsprayed: Iterable[int] = (),
        guide: Guide | None = None,
    ) -> None:
        tasks = len(model.tasks)
        self.model = model
        self.guide = Guide.of(model) if guide is None else guide
        self.slots = Slots(model, order, unsprayed)
        self.end = [-1] * tasks
        self.looked_from = [0] * tasks  # session in which the search for a place began
        self.span = [0] * tasks  # mask of the sessions looked at
        self.project_end = [0] * len(model.projects)
        self.pinned = model.pinned
        self.pull = 0.0
        self.tardiness = sum(
            weight * max(0, -due) for weight, due in zip(model.weight, model.due, strict=True)
        )
        self.log: list[tuple[int, Place, int, int]] = []
        for rank, task in enumerate(self.slots.order):
            self._place_again(task, rank, ALL)
        self.cost = self._cost()

    def sorted_by_time(self) -> Timeline:
        """The plan ranked by the starts of its tasks, so that a change of it spreads less."""
        place = self.slots.place
        order = sorted(self.slots.order, key=lambda task: (place[task].start, place[task].end))
        return Timeline(self.model, order, self.slots.unsprayed, self.guide)

    def _cost(self) -> float:
        cost = self.tardiness + max(self.project_end, default=0)
        cost += AIRBRUSH_COST * self.slots.sprayed
        for task in self.pinned:
            cost += PIN_COST * max(0, self.slots.place[task].start - self.model.latest[task])
        return cost

    def ready(self, task: int) -> int:
        """The minute at which all of a task's waits are over."""
        end, ready = self.end, self.model.release[task]
        for earlier, table in self.model.before[task]:
            over = table[end[earlier]]
            if over > ready:
                ready = over
        return ready

    def _place_again(self, task: int, rank: int, freed: int) -> int:
        """Find a task's place, where ``freed`` sessions may have room; mask of what changed."""
        old = self.slots.place[task]
        self.log.append((task, old, self.looked_from[task], self.span[task]))
        if len(self.model.makers[task]) == 1:
            place = self._find(task, rank, freed)
        else:
            place = self._find_soonest(task, rank)
        if place == old:
            return 0
        self._settle(task, old, place)
        if place.end != old.end and self.model.closes[task]:
            self._close(task)
        return 1 << place.session | (1 << old.session if old is not NOWHERE else 0)

    def _find(self, task: int, rank: int, freed: int) -> Place:
        """The first place with the one maker who can do it."""
        slots, ready = self.slots, self.ready(task)
        first = slots.first_session(self.model.makers[task][0], ready)
        masks = slots.from_here
        look = masks[first]
        if freed != ALL:
            was = self.looked_from[task]
            again = freed | masks[slots.place[task].session]
            if first <= was:
                again |= ~masks[was] | 1 << was
            look &= again
        while True:
            session = (look & -look).bit_length() - 1
            place = slots.fit(task, rank, session, ready)
            if place is not None:
                self.looked_from[task] = first
                self.span[task] = masks[first] ^ masks[session] | 1 << session
                return place
            look &= look - 1

    def _find_soonest(self, task: int, rank: int) -> Place:
        """The place with whichever maker ends first."""
        slots, ready = self.slots, self.ready(task)
        best, span = NOWHERE, 0
        for maker in self.model.makers[task]:
            first = session = slots.first_session(maker, ready)
            while (place := slots.fit(task, rank, session, ready)) is None:
                session += 1
            if best is NOWHERE or place.end < best.end:
                best = place
            span |= slots.from_here[first] ^ slots.from_here[session] | 1 << session
        self.span[task] = span
        return best

    def _settle(self, task: int, old: Place, place: Place) -> None:
        self.slots.lift(task)
        self.slots.put(task, place)
        self.end[task] = end = place.end
        guide, was = self.guide, old.end
        late = guide.latest[task]
        self.pull += guide.always[task] * (end - was)
        if end > late or was > late:
            self.pull += guide.late[task] * (max(end, late) - max(was, late))

    def _close(self, task: int) -> None:
        """Bring the ends of the task's projects up to date."""
        model = self.model
        for project in model.closes[task]:
            end = max(map(self._dry_end, model.closing[project]))
            was = self.project_end[project]
            if end != was:
                due = model.due[project]
                self.project_end[project] = end
                change = (end - due if end > due else 0) - (was - due if was > due else 0)
                self.tardiness += model.weight[project] * change

    def _dry_end(self, task: int) -> int:
        end, dries = self.end[task], self.model.dries[task]
        return end if dries is None or end < 0 else dries[end]

    def attempt(self, move: Move) -> float:
        """The cost after a move; call ``keep`` or ``undo`` next."""
        order = self.slots.order
        self.move, self.log = move, []
        self.before = (self.tardiness, self.pull, self.project_end[:])
        self.old_stretch = order[move.first : move.first + len(move.stretch)]
        order[move.first : move.first + len(move.stretch)] = move.stretch
        turned = self._turn(move)
        sunk, risen = self._rerank(move)
        self._walk(move, turned, sunk, risen)
        return self._cost()

    def _turn(self, move: Move) -> int:
        """Let the airbrush into a session or keep it out; the session's mask."""
        if move.session < 0:
            return 0
        self.slots.unsprayed ^= {move.session}
        return 1 << move.session

    def _rerank(self, move: Move) -> tuple[int, set[int]]:
        """The new ranks; mask of sessions of tasks that sank, and the tasks that rose."""
        rank, place = self.slots.rank, self.slots.place
        was = [rank[task] for task in move.moved]
        for number, task in enumerate(move.stretch, move.first):
            rank[task] = number
        sunk, risen = 0, set()
        for old, task in zip(was, move.moved, strict=True):
            if rank[task] < old:
                risen.add(task)
            else:
                sunk |= 1 << place[task].session
        return sunk, risen

    def _walk(self, move: Move, turned: int, sunk: int, risen: set[int]) -> None:
        """Place again, in the order of rank, every task that can feel the move."""
        airbrush, after = self.model.airbrush, self.model.after
        span, end = self.span, self.end
        last = move.first + len(move.stretch)
        touched: set[int] = set()  # they wait for a task whose end changed
        changed = 0
        for rank, task in enumerate(self.slots.order[move.first :], move.first):
            look = changed | sunk if rank < last else changed
            if turned:
                look |= turned * airbrush[task]
            elif rank >= last and not changed:
                break
            if task in risen:
                look = ALL
            elif not look & span[task] and task not in touched:
                continue
            was = end[task]
            changed |= self._place_again(task, rank, look)
            if end[task] != was:
                touched.update(after[task])

    def keep(self, cost: float) -> None:
        """Make the move part of the plan."""
        self.cost = cost

    def undo(self) -> None:
        """Forget the move."""
        slots = self.slots
        for task, place, looked_from, span in reversed(self.log):
            if slots.place[task] != place:
                slots.lift(task)
                slots.put(task, place)
                self.end[task] = place.end
            self.looked_from[task], self.span[task] = looked_from, span
        self.tardiness, self.pull, self.project_end = self.before
        first, stretch = self.move.first, self.old_stretch
        slots.order[first : first + len(stretch)] = stretch
        for rank, task in enumerate(stretch, first):
            slots.rank[task] = rank
        self._turn(self.move)
