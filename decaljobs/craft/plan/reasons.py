"""Why a task is not sooner, and why one found no session: in kinds and in words."""

from __future__ import annotations

from datetime import tzinfo

from decaljobs.craft.plan.check import drying_words, never_words
from decaljobs.craft.plan.model import MINUTE
from decaljobs.craft.plan.slots import Slots
from decaljobs.craft.plan.tasks import Cause, Reason, Task, Wait
from decaljobs.craft.plan.timeline import Timeline
from decaljobs.craft.plan.words import moment_in_words


class Reasons:
    """Explains the places of one timeline; sentences show the clock of ``zone``, stamps without."""

    def __init__(self, timeline: Timeline, zone: tzinfo | None) -> None:
        self.timeline, self.slots = timeline, timeline.slots
        self.model, self.zone = timeline.model, zone
        self.known = {task.id: task for task in self.model.tasks}
        self.number = {task.id: number for number, task in enumerate(self.model.tasks)}

    def at(self, minute: int) -> str:
        """A minute of the plan on the wall clock."""
        moment = self.model.moment
        return moment_in_words(moment + minute * MINUTE, moment, self.zone)

    def of(self, task: int) -> Reason:
        """Why a task starts when it does and not sooner."""
        place, ready = self.slots.place[task], self.timeline.ready(task)
        begin = self.slots.starts[place.session]
        if self.model.tasks[task].pinned_start or self.model.tasks[task].pinned_session:
            return Reason(Cause.PINNED, f"pinned to {self.at(place.start)}")
        if place.start == ready > 0:
            return self._waited(task, ready)
        if missed := self._missed(task, ready):
            return self._passed_over(task, missed[-1])
        if place.start > begin:
            return self._queued(task)
        if ready > 0:
            return self._waited(task, ready)
        if begin <= 0:
            return Reason(Cause.AT_ONCE, "starts at once")
        return Reason(Cause.BENCH_CLOSED, f"the bench opens {self.at(begin)}")

    def _missed(self, task: int, ready: int) -> list[int]:
        """Sessions before its own in which the task was ready in time."""
        model, slots = self.model, self.slots
        own = slots.place[task]
        needed = model.minutes[task] + model.cleaning * model.airbrush[task]
        found = []
        for maker in model.makers[task]:
            session = slots.first_session(maker, ready)
            while slots.starts[session] < slots.starts[own.session]:
                if max(ready, slots.starts[session]) + needed <= slots.ends[session]:
                    found.append(session)
                session += 1
        return sorted(found, key=slots.starts.__getitem__)

    def _passed_over(self, task: int, session: int) -> Reason:
        """A session that it misses is full, or keeps the airbrush away."""
        model, slots = self.model, self.slots
        if session in slots.unsprayed and self._fits(task, session):
            own = self.at(slots.starts[slots.place[task].session])
            return Reason(Cause.AIRBRUSH, f"kept for {own}, to set the airbrush up less often")
        needed, spray = model.minutes[task], ""
        if model.airbrush[task] and not slots.openers[session]:
            needed += model.setup + model.cleaning
            spray = " with the airbrush's set-up and cleaning"
        when = self.at(slots.starts[session])
        words = f"no room for {needed} min{spray} was left in the session of {when}"
        return Reason(Cause.NO_ROOM, words)

    def _fits(self, task: int, session: int) -> bool:
        """Whether the airbrush and the task would have room if it were let into the session."""
        allowed = Slots(self.model, self.slots.order, ())
        allowed.busy, allowed.place = self.slots.busy, self.slots.place
        ready, last = self.timeline.ready(task), len(self.model.tasks)
        return allowed.fit(task, last, session, ready) is not None

    def _queued(self, task: int) -> Reason:
        """What stands on the bench right before the task."""
        place = self.slots.place[task]
        ahead = [
            (end, other)
            for start, end, other in self.slots.busy[place.session]
            if end <= place.start and not (other == task and start == place.start)
        ]
        end, other = max(ahead, default=(place.start, task))
        if other == task:
            return Reason(Cause.AIRBRUSH, f"the airbrush is set up until {self.at(place.start)}")
        words = self.model.tasks[other].words
        return Reason(Cause.BENCH_TAKEN, f"‘{words}’ is on the bench until {self.at(end)}")

    def _waited(self, task: int, ready: int) -> Reason:
        wait, begin = self._binding(task)
        if wait is None:
            return Reason(Cause.BENCH_CLOSED, f"the bench opens {self.at(ready)}")
        if begin == ready and wait.after is not None:
            return Reason(Cause.BEFORE, f"comes after ‘{self.known[wait.after].words}’")
        words = drying_words(wait, self.known)
        return Reason(Cause.WAIT, f"{words} dries until {self.at(ready)}")

    def _binding(self, task: int) -> tuple[Wait | None, int]:
        """The wait that is over last, and the minute at which it begins."""
        best: tuple[int, Wait | None, int] = (-1, None, 0)
        for wait in self.model.tasks[task].waits:
            begin = 0 if wait.after is None else self.timeline.end[self.number[wait.after]]
            over = self.model.table_of[wait.ready][begin]
            if over > best[0]:
                best = (over, wait, begin)
        return best[1], best[2]

    def late_words(self, task: int) -> str:
        """Why a pinned task starts later than its pin."""
        place = self.slots.place[task]
        ready = self.timeline.ready(task)
        if place.start == ready:
            return self._waited(task, ready).words
        return f"there is room from {self.at(place.start)} on"

    def unplanned(self, tasks: list[int]) -> dict[int, str]:
        """For tasks that found no session, in the order of their places: a sentence each."""
        return {task: self._left_out(task, set(tasks)) for task in tasks}

    def _left_out(self, task: int, left_out: set[int]) -> str:
        spoken: Task = self.model.tasks[task]
        for wait in spoken.waits:
            if wait.after is not None and self.number[wait.after] in left_out:
                return (
                    f"‘{spoken.words}’ comes after ‘{self.known[wait.after].words}’, not planned."
                )
        last_wait, begin = self._binding(task)
        if last_wait is not None and last_wait.ready(self.model.moment + begin * MINUTE) is None:
            return never_words(spoken, last_wait, self.known)
        last = self.at(self.model.horizon)
        return f"‘{spoken.words}’ finds no bench time before {last}, when the last session ends."
