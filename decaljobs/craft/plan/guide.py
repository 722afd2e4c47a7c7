"""A guide for the search: what a task's end promises before its project's end shows it.

The plan's cost sees only the last task of a project. While the search is young it also pays a
little for every task that ends too late for its project's date, and for work done late at all,
weighted by its minutes, which fills the early sessions. In the end the guide fades to nothing.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from typing import NamedTuple

from decaljobs.craft.plan.model import Model

#: Shares of a project's cost of tardiness, and minutes of a later end (all tried out).
LATE_SHARE = 0.3
WORK_SHARE = 0.1
END_SHARE = 30.0


class Guide(NamedTuple):
    """For each task: its last harmless end (minute), and costs of a minute past it, and of any."""

    latest: list[int]
    late: list[float]
    always: list[float]

    @classmethod
    def of(cls, model: Model) -> Guide:
        """The guide of a model."""
        served = served_projects(model)
        counts = [0] * len(model.projects)
        for projects in served:
            for project in projects:
                counts[project] += 1
        weights = [
            sum(model.weight[project] / counts[project] for project in projects)
            for projects in served
        ]
        work = max(1, sum(model.minutes))
        tasks = len(model.tasks)
        return cls(
            latest_ends(model, model.due),
            [LATE_SHARE * weight for weight in weights],
            [
                (END_SHARE + LATE_SHARE * WORK_SHARE * weight * tasks) * minutes / work
                for weight, minutes in zip(weights, model.minutes, strict=True)
            ],
        )


def served_projects(model: Model) -> list[tuple[int, ...]]:
    """The projects of each task, by their numbers in the model.

    >>> from types import SimpleNamespace as Part
    >>> from decaljobs.craft.plan.tasks import Project, Task
    >>> coat = Task("coat", "boat", "coat a sheet", 5, airbrush=True, also_for=("tram",))
    >>> served_projects(Part(projects=(Project("boat"), Project("tram")), tasks=(coat,)))
    [(0, 1)]
    """
    number = {project.id: place for place, project in enumerate(model.projects)}
    return [tuple(number[name] for name in dict.fromkeys(task.projects)) for task in model.tasks]


def latest_ends(model: Model, due: Sequence[int]) -> list[int]:
    """The last end of each task with which its projects end by ``due``, were the bench free.

    ``due`` and the answer are in minutes from the plan's moment.

    >>> from datetime import UTC, datetime, timedelta
    >>> from decaljobs.craft.plan.model import benches_of, build_model
    >>> from decaljobs.craft.plan.tasks import PlanInput, Session, Task, Wait
    >>> noon = datetime(2026, 3, 2, 12, tzinfo=UTC)
    >>> lay = Task("lay", "boat", "lay", 30, waits=(Wait("cut"),))
    >>> tasks = (Task("cut", "boat", "cut", 20), lay)
    >>> sessions = (Session("Ada", noon, noon + timedelta(hours=3)),)
    >>> model = build_model(PlanInput(noon, tasks, (), sessions), tasks, benches_of(noon, sessions))
    >>> latest_ends(model, [100])
    [70, 100]
    """
    return latest_within(
        model,
        [min([model.horizon, *(due[project] for project in closes)]) for closes in model.closes],
    )


def latest_within(model: Model, ends: Sequence[int]) -> list[int]:
    """The last end of each task with which none ends past ``ends`` of its own, minutes.

    The bench is thought to be free, as by ``latest_ends``.

    >>> from datetime import UTC, datetime, timedelta
    >>> from decaljobs.craft.plan.model import benches_of, build_model
    >>> from decaljobs.craft.plan.tasks import PlanInput, Session, Task, Wait
    >>> noon = datetime(2026, 3, 2, 12, tzinfo=UTC)
    >>> lay = Task("lay", "boat", "lay", 30, waits=(Wait("cut"),))
    >>> tasks = (Task("cut", "boat", "cut", 20), lay)
    >>> sessions = (Session("Ada", noon, noon + timedelta(hours=3)),)
    >>> model = build_model(PlanInput(noon, tasks, (), sessions), tasks, benches_of(noon, sessions))
    >>> latest_within(model, [180, 100])
    [70, 100]
    """
    latest = list(ends)
    for task in reversed(sorted_by_waits(model)):
        snap = _into_sessions(model, task)
        latest[task] = snap(latest[task])
        start = max(0, snap(latest[task] - model.minutes[task]))
        for earlier, table in model.before[task]:
            lag = table[0]
            for _ in range(3):  # the wait depends on its own beginning: close in on it
                begin = max(0, start - lag)
                lag = table[begin] - begin
            latest[earlier] = min(latest[earlier], start - lag)
    return latest


def _into_sessions(model: Model, task: int) -> Callable[[int], int]:
    """Moves a minute back to the last one on which a maker of the task is at the bench."""
    benches = [model.benches[maker] for maker in model.makers[task]]

    def snap(minute: int) -> int:
        ends = []
        for bench in benches:
            session = bisect_right(bench.starts, minute) - 1
            ends.append(minute if session < 0 else min(minute, bench.ends[session]))
        return max(ends)

    return snap


def sorted_by_waits(model: Model) -> list[int]:
    """The tasks, by number, so that none stands before what it waits for.

    >>> from types import SimpleNamespace as Part
    >>> sorted_by_waits(Part(before=[((1, None),), ()], after=[(), (0,)]))
    [1, 0]
    """
    missing = [len({earlier for earlier, _ in waits}) for waits in model.before]
    found = [task for task, number in enumerate(missing) if not number]
    for task in found:
        for later in model.after[task]:
            missing[later] -= 1
            if not missing[later]:
                found.append(later)
    return found
