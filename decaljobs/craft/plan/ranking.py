"""The first ranking: a rule of due date and weight, project by project."""

from __future__ import annotations

from decaljobs.craft.plan.guide import Guide, served_projects, sorted_by_waits
from decaljobs.craft.plan.model import Model
from decaljobs.craft.plan.tasks import Plan
from decaljobs.craft.plan.timeline import Timeline

DAY = 24 * 60
#: Days that a project's date counts as sooner for each unit of its weight (tried out).
DAYS_A_WEIGHT = (0.0, 2.0)


def first_timeline(model: Model, guide: Guide) -> Timeline:
    """The better of two plans by rule: the soonest date first, with and without the weights.

    >>> from datetime import UTC, datetime, timedelta
    >>> from decaljobs.craft.plan.model import benches_of, build_model
    >>> from decaljobs.craft.plan.tasks import PlanInput, Project, Session, Task
    >>> noon, hour = datetime(2026, 3, 2, 12, tzinfo=UTC), timedelta(hours=1)
    >>> boat, tram = Project("boat", due=noon + 3 * hour), Project("tram", due=noon + hour)
    >>> tasks = (Task("hull", "boat", "lay", 60), Task("fret", "tram", "lay", 60))
    >>> sessions = (Session("Ada", noon, noon + 3 * hour),)
    >>> plan_input = PlanInput(noon, tasks, (boat, tram), sessions)
    >>> model = build_model(plan_input, tasks, benches_of(noon, sessions))
    >>> timeline = first_timeline(model, Guide.of(model))
    >>> [model.tasks[task].id for task in timeline.slots.order], timeline.cost
    (['fret', 'hull'], 120.0)
    """
    rankings = [_ranked(model, days) for days in DAYS_A_WEIGHT]
    timelines = [Timeline(model, ranking, guide=guide) for ranking in rankings]
    return min(timelines, key=lambda timeline: timeline.cost)


def _ranked(model: Model, days_a_weight: float) -> list[int]:
    """Every task once, after what it waits for: pinned work first, then by its projects."""
    urgency = [
        due - days_a_weight * DAY * project.weight
        for due, project in zip(model.due, model.projects, strict=True)
    ]
    served = served_projects(model)
    order = sorted_by_waits(model)
    key = {task: min(urgency[project] for project in served[task]) for task in order}
    for task in model.pinned:
        key[task] = float("-inf")
    for task in reversed(order):  # what an urgent task waits for is as urgent
        for earlier, _ in model.before[task]:
            key[earlier] = min(key[earlier], key[task])
    place = {task: number for number, task in enumerate(order)}
    return sorted(order, key=lambda task: (key[task], place[task]))


def repeated(model: Model, guide: Guide, plan: Plan) -> Timeline:
    """An earlier plan's ranking with what is there now; new work comes last.

    >>> from datetime import UTC, datetime, timedelta
    >>> from decaljobs.craft.plan.model import benches_of, build_model
    >>> from decaljobs.craft.plan.tasks import PlanInput, Session, Task
    >>> noon = datetime(2026, 3, 2, 12, tzinfo=UTC)
    >>> tasks = tuple(Task(name, "boat", name, 20) for name in ("new", "bow", "stern"))
    >>> sessions = (Session("Ada", noon, noon + timedelta(hours=3)),)
    >>> model = build_model(PlanInput(noon, tasks, (), sessions), tasks, benches_of(noon, sessions))
    >>> again = repeated(model, Guide.of(model), Plan(noon, order=("stern", "bow")))
    >>> [model.tasks[task].id for task in again.slots.order]
    ['stern', 'bow', 'new']
    """
    known = {name: rank for rank, name in enumerate(plan.order)}
    order = sorted_by_waits(model)
    rank = [known.get(task.id, len(known)) for task in model.tasks]
    for task in reversed(order):  # whatever it waits for has to stand before it
        for earlier, _ in model.before[task]:
            rank[earlier] = min(rank[earlier], rank[task])
    place = {task: number for number, task in enumerate(order)}
    order.sort(key=lambda task: (rank[task], place[task]))
    return Timeline(model, order, _numbers(model, plan), guide)


def _numbers(model: Model, plan: Plan) -> list[int]:
    """The numbers that a timeline gives to the sessions kept free of the airbrush."""
    numbers, offset = [], 0
    for bench in model.benches:
        numbers += [
            offset + place
            for place, session in enumerate(bench.sessions)
            if session in plan.unsprayed
        ]
        offset += len(bench.starts)
    return numbers
