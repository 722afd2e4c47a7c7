"""What every bench plan has to keep, worked out anew from the plan's input alone."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise
from math import ceil

from decaljobs.craft.plan.tasks import AirbrushBlock, Plan, PlanInput, Project, ScheduledTask, Work

MINUTE = timedelta(minutes=1)


def faults(plan_input: PlanInput, plan: Plan) -> list[str]:
    """A sentence for everything in the plan that is not as it must be."""
    return [
        *_not_once(plan_input, plan),
        *_outside_sessions(plan_input, plan),
        *_overlaps(plan),
        *_broken_waits(plan_input, plan),
        *_airbrush_faults(plan_input, plan),
        *_wrong_ends(plan_input, plan),
    ]


def _not_once(plan_input: PlanInput, plan: Plan) -> Iterator[str]:
    told = Counter(placed.task.id for placed in plan.tasks)
    told.update(left_out.task.id for left_out in plan.unplanned)
    if told != Counter(task.id for task in plan_input.tasks):
        yield f"tasks not told exactly once: {told}"


def _outside_sessions(plan_input: PlanInput, plan: Plan) -> Iterator[str]:
    for placed in plan.tasks:
        session, task = placed.session, placed.task
        inside = session.start <= placed.start and placed.end <= session.end
        if session not in plan_input.sessions or not inside or placed.start < plan_input.moment:
            yield f"{task.id} lies outside its session"
        if placed.end - placed.start != task.minutes * MINUTE:
            yield f"{task.id} takes {placed.end - placed.start}"
        if task.makers and session.maker not in task.makers:
            yield f"{task.id} is done by {session.maker}"


def _overlaps(plan: Plan) -> Iterator[str]:
    spans: dict[str, list[tuple[datetime, datetime]]] = defaultdict(list)
    stretches: list[ScheduledTask | AirbrushBlock] = [*plan.tasks, *plan.airbrush]
    for stretch in stretches:
        spans[stretch.session.maker].append((stretch.start, stretch.end))
    for maker, taken in spans.items():
        for (_, end), (start, _) in pairwise(sorted(taken)):
            if start < end:
                yield f"{maker} does two things at {start}"


def _broken_waits(plan_input: PlanInput, plan: Plan) -> Iterator[str]:
    ends = {placed.task.id: placed.end for placed in plan.tasks}
    for placed in plan.tasks:
        for wait in placed.task.waits:
            begin = plan_input.moment if wait.after is None else ends.get(wait.after)
            over = None if begin is None else wait.ready(begin)
            if over is None or placed.start < over:
                yield f"{placed.task.id} starts before its wait after {wait.after} is over"


def _airbrush_faults(plan_input: PlanInput, plan: Plan) -> Iterator[str]:
    sprayed = {placed.session for placed in plan.tasks if placed.task.airbrush}
    blocks = {(block.session, block.work): block for block in plan.airbrush}
    if len(blocks) != len(plan.airbrush) or set(blocks) != {(s, w) for s in sprayed for w in Work}:
        yield "the airbrush is not set up and cleaned once in each session that sprays"
        return
    for session in sprayed:
        setup = blocks[session, Work.AIRBRUSH_SETUP]
        cleaning = blocks[session, Work.AIRBRUSH_CLEANING]
        placed = plan.in_session(session)
        if setup.end > min(task.start for task in placed if task.task.airbrush):
            yield f"spraying before the set-up is over at {setup.end}"
        if cleaning.start < max(task.end for task in placed) or cleaning.end > session.end:
            yield f"the cleaning at {cleaning.start} is not the session's end"
        lengths = (setup.end - setup.start, cleaning.end - cleaning.start)
        if lengths != (plan_input.setup_minutes * MINUTE, plan_input.cleaning_minutes * MINUTE):
            yield f"set-up and cleaning take {lengths}"


def _wrong_ends(plan_input: PlanInput, plan: Plan) -> Iterator[str]:
    """Ends and objective by their definition, where no work is left out."""
    if plan.unplanned or any(end.end is None for end in plan.ends):
        return
    cost, last = 0.0, plan_input.moment
    told = {end.project.id: end for end in plan.ends}
    dated = {project.id: project for project in plan_input.projects}
    names = {name for task in plan_input.tasks for name in task.projects}
    for project in (dated.get(name, Project(name)) for name in names):
        served = [placed for placed in plan.tasks if project.id in placed.task.projects]
        end = max(_dry_end(placed) for placed in served)
        if told[project.id].end != end:
            yield f"{project.id} ends {end}, not {told[project.id].end}"
        last = max(last, end)
        if project.due:
            cost += 20 * project.weight * max(0, ceil((end - project.due) / MINUTE))
    cost += (last - plan_input.moment) // MINUTE + 60 * len({b.session for b in plan.airbrush})
    if abs(cost - plan.objective) > 1e-6 * max(1.0, cost):
        yield f"the objective is {cost}, not {plan.objective}"


def _dry_end(placed: ScheduledTask) -> datetime:
    over = placed.task.dries.ready(placed.end) if placed.task.dries else placed.end
    assert over is not None, "a layer that never dries has given its project an end"
    return over
