"""When each project is at the bench and when it only dries, read off a plan."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from decaljobs.craft.plan.tasks import Plan, PlanInput, ScheduledTask, Wait

#: A stretch of time, UTC.
Span = tuple[datetime, datetime]


@dataclass(frozen=True, slots=True)
class ProjectBar:
    """The stretches (UTC) in which a project is worked on and in which it dries, in order."""

    project: str
    bench: tuple[Span, ...]
    drying: tuple[Span, ...]


def bars_of(plan: Plan, plan_input: PlanInput) -> list[ProjectBar]:
    """A bar for each project with planned work, in the order of their first stretch.

    Stretches (UTC) that overlap or touch become one. A wait of which nothing planned comes after
    is left out, as is one that never ends.

    >>> from datetime import UTC, timedelta
    >>> from decaljobs.craft.benchplan import make_plan
    >>> from decaljobs.craft.plan.tasks import FixedWait, Session, Task
    >>> noon, hour = datetime(2026, 3, 2, 12, tzinfo=UTC), timedelta(hours=1)
    >>> base = Task("base", "boat", "base", 60, dries=Wait("base", FixedWait(12 * hour)))
    >>> asked = PlanInput(noon, (base,), (), (Session("Ada", noon, noon + 2 * hour),))
    >>> (bar,) = bars_of(make_plan(asked, iterations=0), asked)
    >>> [(end - start) / hour for start, end in (*bar.bench, *bar.drying)]
    [1.0, 12.0]
    """
    bench: dict[str, list[Span]] = {}
    drying: dict[str, list[Span]] = {}
    ends = {placed.task.id: placed.end for placed in plan.tasks}
    for placed in plan.tasks:
        for project in placed.task.projects:
            bench.setdefault(project, []).append((placed.start, placed.end))
            drying.setdefault(project, []).extend(_dried(placed, ends, plan_input.moment))
    return [
        ProjectBar(project, joined(spans), joined(drying[project]))
        for project, spans in sorted(bench.items(), key=lambda item: min(item[1]))
    ]


def _dried(placed: ScheduledTask, ends: dict[str, datetime], moment: datetime) -> Iterator[Span]:
    """What dries before a task, and after it where it is the last."""
    waits = [(wait, _begin(wait, ends, moment)) for wait in placed.task.waits]
    if placed.task.dries:
        waits.append((placed.task.dries, placed.end))
    for wait, begin in waits:
        over = wait.ready(begin) if begin else None
        if begin and over and over > begin:
            yield begin, over


def _begin(wait: Wait, ends: dict[str, datetime], moment: datetime) -> datetime | None:
    return moment if wait.after is None else ends.get(wait.after)


def joined(spans: Iterable[Span]) -> tuple[Span, ...]:
    """Stretches in order, those that overlap or touch as one.

    >>> day = [datetime(2026, 1, number) for number in range(1, 5)]
    >>> joined([(day[2], day[3]), (day[0], day[1]), (day[1], day[2])]) == ((day[0], day[3]),)
    True
    """
    found: list[Span] = []
    for start, end in sorted(spans):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(end, found[-1][1]))
        else:
            found.append((start, end))
    return tuple(found)
