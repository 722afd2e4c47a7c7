"""Groups of projects that share a task or wait for one another: mostly each project by itself."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from decaljobs.craft.plan.guide import served_projects
from decaljobs.craft.plan.model import Model
from decaljobs.craft.plan.packing import Link, Sessions


class Group(NamedTuple):
    """Projects and their tasks, by their numbers in the model.

    Tasks stand after those they wait for. The links of ``waits_for`` and ``awaited_by`` name
    tasks by their place in ``tasks``: the first session after one that is waited for, and the
    last one before one that waits. ``closes`` are the projects that each task may end.
    """

    projects: tuple[int, ...]
    tasks: tuple[int, ...]
    waits_for: tuple[tuple[Link, ...], ...]
    awaited_by: tuple[tuple[Link, ...], ...]
    closes: tuple[tuple[int, ...], ...]


def groups_of(sessions: Sessions) -> list[Group]:
    """The groups of a model, which hold every task once.

    >>> from datetime import UTC, datetime, timedelta
    >>> from decaljobs.craft.plan.model import benches_of, build_model
    >>> from decaljobs.craft.plan.tasks import PlanInput, Session, Task
    >>> noon = datetime(2026, 3, 2, 12, tzinfo=UTC)
    >>> coat = Task("coat", "boat", "coat a sheet", 30, also_for=("tram",))
    >>> tasks = (coat, Task("hull", "boat", "lay", 20), Task("fret", "cart", "lay", 20))
    >>> evening = (Session("Ada", noon, noon + timedelta(hours=3)),)
    >>> asked = PlanInput(noon, tasks, (), evening)
    >>> groups = groups_of(Sessions(build_model(asked, tasks, benches_of(noon, evening))))
    >>> [(group.projects, group.tasks) for group in groups]  # boat and tram, and the cart
    [((0, 2), (0, 1)), ((1,), (2,))]
    """
    model = sessions.model
    leader = _leaders(model)
    tasks: dict[int, list[int]] = {}
    served = served_projects(model)
    for task in sessions.by_waits:
        tasks.setdefault(leader[served[task][0]], []).append(task)
    return [
        _group(sessions, [p for p, led in enumerate(leader) if led == first], tasks[first])
        for first in sorted(set(leader))
    ]


def _leaders(model: Model) -> list[int]:
    """For each project the first of its group."""
    leader = list(range(len(model.projects)))
    served = served_projects(model)
    for task, projects in enumerate(served):
        tied = {leader[project] for project in projects}
        for later in model.after[task]:
            tied |= {leader[project] for project in served[later]}
        leader = [min(tied) if led in tied else led for led in leader]
    return leader


def _group(sessions: Sessions, projects: Sequence[int], tasks: Sequence[int]) -> Group:
    place = {task: number for number, task in enumerate(tasks)}

    def placed(links: Sequence[Link]) -> tuple[Link, ...]:
        return tuple(Link(place[other], limit) for other, limit in links)

    return Group(
        tuple(projects),
        tuple(tasks),
        tuple(placed(sessions.first[task]) for task in tasks),
        tuple(placed(sessions.last[task]) for task in tasks),
        tuple(sessions.model.closes[task] for task in tasks),
    )
