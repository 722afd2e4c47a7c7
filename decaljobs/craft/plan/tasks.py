"""What the planner is told and what it answers: tasks, waits, sessions, and the plan itself.

Moments are UTC-aware datetimes, lengths of work are whole minutes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, tzinfo
from enum import StrEnum

#: Set-up and cleaning of an airbrush, minutes each (common practice, no source).
AIRBRUSH_MINUTES = 15
#: What a weighted minute of tardiness costs, in minutes of a later end (a choice).
TARDINESS_COST = 20
#: What getting the airbrush out once costs, in minutes of a later end (a choice).
AIRBRUSH_COST = 60

#: From the moment a wait begins to the moment it is over; None if it never is.
#: A later beginning must never give an earlier end.
Readiness = Callable[[datetime], datetime | None]


@dataclass(frozen=True, slots=True)
class FixedWait:
    """A wait of one length, whenever it begins.

    >>> FixedWait(timedelta(hours=2))(datetime(2026, 1, 1, tzinfo=UTC)).hour
    2
    """

    length: timedelta

    def __call__(self, start: datetime) -> datetime:
        return start + self.length


NO_WAIT = FixedWait(timedelta(0))


@dataclass(frozen=True, slots=True)
class Wait:
    """What a task waits for: the end of another, and the drying time that begins there.

    ``after`` is the id of the other task; None is a wait that runs already, and then
    ``ready`` is asked with the plan's moment. ``words`` name what dries ('base').
    """

    after: str | None = None
    ready: Readiness = NO_WAIT
    words: str = ""


@dataclass(frozen=True, slots=True)
class Session:
    """A stretch of bench time of one maker, UTC moments; it ends after it starts.

    Raises ValueError otherwise, and for moments without their zone.
    """

    maker: str
    start: datetime
    end: datetime

    def __post_init__(self) -> None:
        if self.start.tzinfo is None or self.end.tzinfo is None:
            raise ValueError("a session's moments must carry their zone, in UTC")
        if self.end <= self.start:
            raise ValueError(f"a session must end after its start {self.start.isoformat()}")

    def overlaps(self, other: Session) -> bool:
        """Whether both are of one maker and share some time."""
        return self.maker == other.maker and self.start < other.end and other.start < self.end


@dataclass(frozen=True, slots=True)
class Task:
    """One hands-on step, never interrupted; ``minutes`` of work, at least 1 (else ValueError).

    ``also_for`` names further projects served by the same work (sealing a shared sheet).
    No ``makers`` means anybody with bench hours. ``dries`` is a last wait with no step after
    it: the project ends when it is over. A pin holds the task in a session (of that
    maker, at that start) or at a moment.
    """

    id: str
    project: str
    words: str
    minutes: int
    airbrush: bool = False
    waits: tuple[Wait, ...] = ()
    also_for: tuple[str, ...] = ()
    makers: tuple[str, ...] = ()
    dries: Wait | None = None
    pinned_session: Session | None = None
    pinned_start: datetime | None = None

    def __post_init__(self) -> None:
        if self.minutes < 1:
            raise ValueError(f"minutes of task {self.id} must be at least 1, not {self.minutes}")

    @property
    def projects(self) -> tuple[str, ...]:
        """Its own project and those that it also serves."""
        return (self.project, *self.also_for)


@dataclass(frozen=True, slots=True)
class Project:
    """One model: when it is due (UTC, or no date) and how much a late minute weighs (0 or more).

    Raises ValueError for a weight below 0 or without end.
    """

    id: str
    words: str = ""
    due: datetime | None = None
    weight: float = 1.0

    def __post_init__(self) -> None:
        if not 0 <= self.weight < float("inf"):
            raise ValueError(f"weight of project {self.id} must be 0 or more, not {self.weight}")


@dataclass(frozen=True, slots=True)
class PlanInput:
    """Everything a plan is made from; ``zone`` is for the words only: stamps without."""

    moment: datetime
    tasks: tuple[Task, ...]
    projects: tuple[Project, ...]
    sessions: tuple[Session, ...]
    zone: tzinfo | None = UTC
    setup_minutes: int = AIRBRUSH_MINUTES
    cleaning_minutes: int = AIRBRUSH_MINUTES


class Work(StrEnum):
    """What a stretch of a session is spent on besides tasks."""

    AIRBRUSH_SETUP = "airbrush set-up"
    AIRBRUSH_CLEANING = "airbrush cleaning"


class Cause(StrEnum):
    """Why a task does not start sooner."""

    AT_ONCE = "at once"
    WAIT = "wait"
    BEFORE = "comes after"
    BENCH_TAKEN = "bench taken"
    BENCH_CLOSED = "bench closed"
    NO_ROOM = "no room"
    AIRBRUSH = "airbrush"
    PINNED = "pinned"


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a task is not sooner, as a kind and as words for the page."""

    cause: Cause
    words: str


@dataclass(frozen=True, slots=True)
class ScheduledTask:
    """A task with its time and its session; ``ready`` is the moment its waits are over."""

    task: Task
    session: Session
    start: datetime
    end: datetime
    ready: datetime
    reason: Reason


@dataclass(frozen=True, slots=True)
class AirbrushBlock:
    """Set-up or cleaning of the airbrush in a session."""

    work: Work
    session: Session
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class UnplannedTask:
    """A task that stands in no session, with a sentence saying why."""

    task: Task
    words: str


@dataclass(frozen=True, slots=True)
class ProjectEnd:
    """When a project ends (None if part of it is unplanned) and how late that is, minutes."""

    project: Project
    end: datetime | None
    late_minutes: int


@dataclass(frozen=True, slots=True)
class Plan:
    """Sessions filled with work.

    ``order`` (task ids by rank) and ``unsprayed`` (sessions kept free of the airbrush) repeat the
    plan when it is given to a next one. ``first_objective`` is that of the first plan, by rule.

    ``objective`` is in minutes: 20 · Σ weight · tardiness + end + 60 · airbrush sessions, over the
    projects that are planned to their end.
    """

    made: datetime
    tasks: tuple[ScheduledTask, ...] = ()
    airbrush: tuple[AirbrushBlock, ...] = ()
    ends: tuple[ProjectEnd, ...] = ()
    unplanned: tuple[UnplannedTask, ...] = ()
    notes: tuple[str, ...] = ()
    objective: float = 0.0
    first_objective: float = 0.0
    tries: int = 0
    order: tuple[str, ...] = field(default=(), repr=False)
    unsprayed: tuple[Session, ...] = field(default=(), repr=False)

    def in_session(self, session: Session) -> tuple[ScheduledTask, ...]:
        """The tasks of one session in the order of their work."""
        return tuple(placed for placed in self.tasks if placed.session == session)
