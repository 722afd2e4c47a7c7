"""What cannot be planned, and why, in sentences; the rest goes to the planner."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from decaljobs.craft.moments import whole_minute
from decaljobs.craft.plan.model import MINUTE
from decaljobs.craft.plan.tasks import PlanInput, Session, Task, UnplannedTask, Wait
from decaljobs.craft.plan.words import day_in_words, listed, moment_in_words


class Check:
    """Sorts out a plan's input: ``sessions``, plannable ``tasks``, ``unplanned`` and ``notes``.

    ``input`` is the plan's input from the next whole minute on, ``made`` its own moment. Raises
    ValueError for a moment without its zone, minutes below 0, or two tasks of one id.
    """

    def __init__(self, plan_input: PlanInput) -> None:
        if plan_input.moment.tzinfo is None:
            raise ValueError("the plan's moment must carry its zone, in UTC")
        for name in ("setup_minutes", "cleaning_minutes"):
            if getattr(plan_input, name) < 0:
                raise ValueError(f"{name} must be 0 or more, not {getattr(plan_input, name)}")
        self.made = plan_input.moment
        self.input = replace(plan_input, moment=whole_minute(plan_input.moment))
        self.notes: list[str] = []
        self.why: dict[str, str] = {}
        self.sessions = self._joined_sessions()
        self.known = {task.id: task for task in plan_input.tasks}
        if len(self.known) < len(plan_input.tasks):
            raise ValueError("two tasks of one plan have the same id")
        self._refuse()
        self.tasks = tuple(
            self._pin_checked(task) for task in plan_input.tasks if task.id not in self.why
        )
        self._note_short_sessions()
        self._note_past_dates()

    @property
    def unplanned(self) -> tuple[UnplannedTask, ...]:
        """The tasks that can stand in no plan, each with its sentence."""
        return tuple(
            UnplannedTask(task, self.why[task.id])
            for task in self.input.tasks
            if task.id in self.why
        )

    def at(self, moment: datetime) -> str:
        """A moment on the wall clock, as the plan's sentences say it."""
        return moment_in_words(moment, self.input.moment, self.input.zone)

    def _joined_sessions(self) -> tuple[Session, ...]:
        """Sessions not yet over; those of one maker that overlap become one, which is noted."""
        coming = [session for session in self.input.sessions if session.end > self.input.moment]
        if not coming:
            self.notes.append("There are no bench hours to plan for.")
        joined: list[Session] = []
        for session in sorted(coming, key=lambda s: (s.maker, s.start, s.end)):
            last = joined[-1] if joined else None
            if last and last.overlaps(session):
                self.notes.append(
                    f"Bench hours of {session.maker} overlap at {self.at(session.start)}; "
                    "they are taken as one session."
                )
                joined[-1] = replace(last, end=max(last.end, session.end))
            else:
                joined.append(session)
        return tuple(sorted(joined, key=lambda s: (s.start, s.maker)))

    def _refuse(self) -> None:
        """Fill ``why``: from the first tasks on, each with what it waits for known."""
        ends: dict[str, datetime] = {}
        left = dict(self.known)
        while ready := [task for task in left.values() if not self._open_waits(task, left)]:
            for task in ready:
                del left[task.id]
                words = self._why_not(task, ends)
                if words:
                    self.why[task.id] = words
        for task in left.values():
            self.why[task.id] = f"‘{task.words}’ waits for itself, through other tasks."

    def _open_waits(self, task: Task, left: dict[str, Task]) -> bool:
        return any(wait.after in left for wait in task.waits if wait.after is not None)

    def _why_not(self, task: Task, ends: dict[str, datetime]) -> str:
        """A sentence if the task can stand in no plan; else its earliest end goes to ``ends``."""
        for wait in task.waits:
            if wait.after is not None and wait.after not in self.known:
                return f"‘{task.words}’ waits for a task that is not in the plan."
            if wait.after in self.why:
                return f"‘{task.words}’ comes after ‘{self.known[wait.after].words}’, not planned."
        start = self.input.moment
        for wait in task.waits:
            begin = self.input.moment if wait.after is None else ends[wait.after]
            over = wait.ready(begin)
            if over is None:
                return never_words(task, wait, self.known)
            start = max(start, over)
        room = self._session_room(task)
        if room is None:
            whose = f" of {listed(task.makers)}" if task.makers else ""
            return f"‘{task.words}’ is left out: there are no bench hours{whose}."
        needed = self._needed(task)
        if room < needed:
            spray = " with the airbrush's set-up and cleaning" if task.airbrush else ""
            return f"‘{task.words}’ takes {needed} min{spray}; the longest session has {room} min."
        ends[task.id] = start + task.minutes * MINUTE
        return ""

    def _needed(self, task: Task) -> int:
        extra = self.input.setup_minutes + self.input.cleaning_minutes
        return task.minutes + extra * task.airbrush

    def _session_room(self, task: Task) -> int | None:
        """Minutes of the longest session of its makers; None without one."""
        rooms = [
            self._minutes(session)
            for session in self.sessions
            if not task.makers or session.maker in task.makers
        ]
        return max(rooms, default=None)

    def _minutes(self, session: Session) -> int:
        return (session.end - max(session.start, self.input.moment)) // MINUTE

    def _pin_checked(self, task: Task) -> Task:
        """The task without a pin that no session can keep, which is noted."""
        pin = task.pinned_session
        if pin:
            held = self._session_of(pin)
            task = replace(task, pinned_session=held)
            if held is None:
                self.notes.append(
                    f"‘{task.words}’ is pinned to {self.at(pin.start)}, when there is no session "
                    "any more; it is planned freely."
                )
        start = task.pinned_start
        if start and not self._within_session(task, start):
            self.notes.append(
                f"‘{task.words}’ is pinned to {self.at(start)}, outside every session; it is "
                "planned freely."
            )
            task = replace(task, pinned_start=None)
        return task

    def _session_of(self, pin: Session) -> Session | None:
        """The session in which a pin is kept, though the hours may have changed a little."""
        for session in self.sessions:
            if session.overlaps(pin):
                return session
        return None

    def _within_session(self, task: Task, start: datetime) -> bool:
        return any(
            session.start <= start and start + task.minutes * MINUTE <= session.end
            for session in self.sessions
            if not task.makers or session.maker in task.makers
        )

    def _note_short_sessions(self) -> None:
        for maker in sorted({session.maker for session in self.sessions}):
            tasks = [task for task in self.tasks if not task.makers or maker in task.makers]
            if not tasks:
                continue
            shortest = min(tasks, key=self._needed)
            needed = self._needed(shortest)
            short = [
                session
                for session in self.sessions
                if session.maker == maker and self._minutes(session) < needed
            ]
            if short:
                when = listed(self.at(session.start) for session in short)
                self.notes.append(
                    f"Nothing fits into {maker}'s session of {when}: the shortest task, "
                    f"‘{shortest.words}’, takes {needed} min."
                )

    def _note_past_dates(self) -> None:
        served = {name for task in self.input.tasks for name in task.projects}
        for project in self.input.projects:
            if project.due and project.due < self.input.moment and project.id in served:
                self.notes.append(
                    f"‘{project.words or project.id}’ was due "
                    f"{day_in_words(project.due, self.input.zone)}, which is past; it is planned "
                    "as late."
                )


def never_words(task: Task, wait: Wait, known: dict[str, Task]) -> str:
    """The sentence for a wait that never ends.

    >>> wait = Wait("a", words="the base")
    >>> never_words(Task("b", "p", "lay clear", 20, waits=(wait,)), wait, {})
    '‘lay clear’ is left out: the base never dries in this room.'
    """
    return f"‘{task.words}’ is left out: {drying_words(wait, known)} never dries in this room."


def drying_words(wait: Wait, known: dict[str, Task]) -> str:
    """What dries during a wait, by its own words or by the task before it.

    >>> drying_words(Wait("a"), {"a": Task("a", "boat", "lay base", 20)})
    '‘lay base’'
    """
    if wait.words:
        return wait.words
    return f"‘{known[wait.after].words}’" if wait.after in known else "the work before it"
