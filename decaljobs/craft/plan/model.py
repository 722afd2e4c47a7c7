"""A plan's input as whole minutes since its moment, in lists that a search can run through."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil

from decaljobs.craft.plan.tasks import (
    TARDINESS_COST,
    PlanInput,
    Project,
    Readiness,
    Session,
    Task,
    Wait,
)

MINUTE = timedelta(minutes=1)
#: Later than any plan can reach, in minutes.
FAR = 10**9
#: Work that finds no session is kept this long after the last one, minutes.
BEYOND = 24 * 60


class ReadyTable(dict[int, int]):
    """Minute at which a wait begins → minute at which it is over, each asked for once."""

    def __init__(self, moment: datetime, ready: Readiness, horizon: int) -> None:
        super().__init__()
        self.moment, self.ready, self.horizon = moment, ready, horizon

    def __missing__(self, minute: int) -> int:
        found = minute
        if minute <= self.horizon:
            over = self.ready(self.moment + minute * MINUTE)
            found = self.horizon + BEYOND if over is None else _minute_of(over, self.moment)
        self[minute] = found
        return found

    def begun_by(self, over: int) -> int:
        """When a wait has to begin to be over at a minute: closed in on, as it may vary."""
        begin = max(0, over - self[0])
        return max(0, over - (self[begin] - begin))


@dataclass(frozen=True, slots=True)
class Bench:
    """One maker's sessions, minutes; behind the last stands an endless one for what is left."""

    maker: str
    sessions: tuple[Session, ...]
    starts: list[int]
    ends: list[int]


@dataclass(frozen=True, slots=True)
class Model:
    """The plan as numbers: minutes are whole and counted from `moment`.

    Lists run over tasks; projects and benches are told by their index. weight: what a late minute
    costs, in minutes of a later end.
    """

    moment: datetime
    horizon: int
    setup: int
    cleaning: int
    tasks: tuple[Task, ...]
    minutes: list[int]
    airbrush: list[bool]
    release: list[int]
    latest: list[int]
    before: list[tuple[tuple[int, ReadyTable], ...]]
    after: list[tuple[int, ...]]
    benches: tuple[Bench, ...]
    makers: list[tuple[int, ...]]
    dries: list[ReadyTable | None]
    projects: tuple[Project, ...]
    due: list[int]
    weight: list[float]
    closes: list[tuple[int, ...]]
    closing: list[tuple[int, ...]]
    table_of: dict[Readiness, ReadyTable]

    @property
    def pinned(self) -> list[int]:
        """The tasks that are pinned, by number."""
        return [task for task, latest in enumerate(self.latest) if latest < FAR]


def _minute_of(moment: datetime, origin: datetime) -> int:
    """Whole minutes from ``origin``, rounded up."""
    return ceil((moment - origin) / MINUTE)


class Tables:
    """The wait tables of one plan: tasks under the same rule share one."""

    def __init__(self, moment: datetime, horizon: int) -> None:
        self.moment, self.horizon = moment, horizon
        self.known: dict[Readiness, ReadyTable] = {}

    def of(self, wait: Wait) -> ReadyTable:
        """The table of a wait, made when it is first asked for."""
        if wait.ready not in self.known:
            self.known[wait.ready] = ReadyTable(self.moment, wait.ready, self.horizon)
        return self.known[wait.ready]


def benches_of(moment: datetime, sessions: Sequence[Session]) -> tuple[Bench, ...]:
    """Each maker's sessions from ``moment`` on, in minutes; of one that runs already its rest.

    >>> from datetime import UTC
    >>> noon = datetime(2026, 3, 2, 12, tzinfo=UTC)
    >>> (bench,) = benches_of(noon, [Session("Ada", noon - MINUTE, noon + 90 * MINUTE)])
    >>> bench.starts[0], bench.ends[0]
    (0, 90)
    """
    makers = sorted({session.maker for session in sessions})
    horizon = _horizon_of(moment, sessions)
    return tuple(
        _bench(moment, maker, [s for s in sessions if s.maker == maker], horizon)
        for maker in makers
    )


def _bench(moment: datetime, maker: str, sessions: Sequence[Session], horizon: int) -> Bench:
    ordered = tuple(sorted(sessions, key=lambda session: session.start))
    starts = [max(0, _minute_of(session.start, moment)) for session in ordered]
    ends = [(session.end - moment) // MINUTE for session in ordered]
    return Bench(maker, ordered, [*starts, horizon + BEYOND], [*ends, FAR])


def _horizon_of(moment: datetime, sessions: Sequence[Session]) -> int:
    """The last session's end, minutes from ``moment``; 0 without sessions."""
    return max((int((session.end - moment) // MINUTE) for session in sessions), default=0)


def build_model(plan_input: PlanInput, tasks: Sequence[Task], benches: tuple[Bench, ...]) -> Model:
    """The numbers of the plannable ``tasks``: every wait among them names one of them.

    Minutes are whole and counted from the plan's moment.

    >>> from datetime import UTC
    >>> noon = datetime(2026, 3, 2, 12, tzinfo=UTC)
    >>> sessions = (Session("Ada", noon, noon + 90 * MINUTE),)
    >>> cut = Task("cut", "boat", "cut the base", 30)
    >>> lay = Task("lay", "boat", "lay the base", 20, waits=(Wait("cut"),))
    >>> plan_input = PlanInput(noon, (cut, lay), (), sessions)
    >>> model = build_model(plan_input, (cut, lay), benches_of(noon, sessions))
    >>> model.minutes, model.after, model.horizon
    ([30, 20], [(1,), ()], 90)
    """
    moment = plan_input.moment
    horizon = max((bench.ends[-2] for bench in benches if bench.sessions), default=0)
    tables = Tables(moment, horizon)
    index = {task.id: number for number, task in enumerate(tasks)}
    before = [_before(task, index, tables) for task in tasks]
    after = _after(before)
    projects = _projects(plan_input, tasks)
    place = {project.id: number for number, project in enumerate(projects)}
    closes = [_closes(task, after[index[task.id]], tasks, place) for task in tasks]
    return Model(
        moment=moment,
        horizon=horizon,
        setup=plan_input.setup_minutes,
        cleaning=plan_input.cleaning_minutes,
        tasks=tuple(tasks),
        minutes=[task.minutes for task in tasks],
        airbrush=[task.airbrush for task in tasks],
        release=[_release(task, tables) for task in tasks],
        latest=[_latest(task, plan_input) for task in tasks],
        before=before,
        after=after,
        benches=benches,
        makers=[_makers(task, benches) for task in tasks],
        dries=[None if task.dries is None else tables.of(task.dries) for task in tasks],
        projects=projects,
        due=[_due(project, moment, horizon) for project in projects],
        weight=[TARDINESS_COST * project.weight for project in projects],
        closes=closes,
        closing=[
            tuple(task for task, shut in enumerate(closes) if number in shut)
            for number in range(len(projects))
        ],
        table_of=tables.known,
    )


def _before(
    task: Task, index: dict[str, int], tables: Tables
) -> tuple[tuple[int, ReadyTable], ...]:
    return tuple(
        (index[wait.after], tables.of(wait)) for wait in task.waits if wait.after is not None
    )


def _after(before: Sequence[tuple[tuple[int, ReadyTable], ...]]) -> list[tuple[int, ...]]:
    found: list[list[int]] = [[] for _ in before]
    for task, waits in enumerate(before):
        for earlier in {earlier for earlier, _ in waits}:
            found[earlier].append(task)
    return [tuple(tasks) for tasks in found]


def _projects(plan_input: PlanInput, tasks: Sequence[Task]) -> tuple[Project, ...]:
    served = {name for task in tasks for name in task.projects}
    known = {project.id: project for project in plan_input.projects}
    return tuple(known.get(name, Project(name)) for name in sorted(served))


def _closes(
    task: Task, after: Sequence[int], tasks: Sequence[Task], place: dict[str, int]
) -> tuple[int, ...]:
    """The projects whose end this task may be: no later task of theirs follows it."""
    followed = {name for later in after for name in tasks[later].projects}
    return tuple(
        place[name] for name in dict.fromkeys(task.projects) if task.dries or name not in followed
    )


def _due(project: Project, moment: datetime, horizon: int) -> int:
    # Without a date, work that finds no session still has to cost something.
    return horizon if project.due is None else (project.due - moment) // MINUTE


def _release(task: Task, tables: Tables) -> int:
    running = [tables.of(wait)[0] for wait in task.waits if wait.after is None]
    pins = [pin.start for pin in [task.pinned_session] if pin]
    pins += [pin for pin in [task.pinned_start] if pin]
    return max([0, *running, *(_minute_of(pin, tables.moment) for pin in pins)])


def _latest(task: Task, plan_input: PlanInput) -> int:
    """The last minute at which a pinned task may start."""
    moment = plan_input.moment
    if task.pinned_start:
        return max(0, _minute_of(task.pinned_start, moment))
    if task.pinned_session:
        rest = task.minutes + plan_input.cleaning_minutes * task.airbrush
        return int((task.pinned_session.end - moment) // MINUTE) - rest
    return FAR


def _makers(task: Task, benches: Sequence[Bench]) -> tuple[int, ...]:
    names = (task.pinned_session.maker,) if task.pinned_session else task.makers
    return tuple(
        number for number, bench in enumerate(benches) if not names or bench.maker in names
    )
