"""A plan in plain values, to be kept with its record and read by pages, calendar and paper."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from decaljobs.craft.benchplan import Slips
from decaljobs.craft.plan.bars import Span, bars_of
from decaljobs.craft.plan.tasks import (
    AirbrushBlock,
    Cause,
    Plan,
    ProjectEnd,
    ScheduledTask,
    Session,
    UnplannedTask,
)
from decaljobs.services.plan.planwork import Gathered

Plain = dict[str, Any]


def to_plain(plan: Plan, work: Gathered, slips: Mapping[str, Slips]) -> Plain:
    """Sessions with their tasks, ends, bars, notes, and what slips by maker."""
    return {
        "moment": plan.made.isoformat(),
        "objective": round(plan.objective),
        "first_objective": round(plan.first_objective),
        "tries": plan.tries,
        "sessions": [_session(session, plan, work) for session in work.input.sessions],
        "ends": [_end(end, work) for end in plan.ends] + list(_drying_only(plan, work)),
        "bars": _bars(plan, work),
        "unplanned": [_unplanned(left, work) for left in plan.unplanned],
        "notes": list(plan.notes),
        "slips": {maker: _slips(missed, work) for maker, missed in slips.items()},
        "order": list(plan.order),
        "offcuts": list(work.offcuts),
        "unsprayed": [_key(session) for session in plan.unsprayed],
    }


def to_begin_with(found: Plain) -> Plan | None:
    """The order of an earlier plan, for the next one to begin with."""
    if not found.get("order"):
        return None
    return Plan(
        made=datetime.fromisoformat(found["moment"]),
        order=tuple(found["order"]),
        unsprayed=tuple(
            Session(maker, datetime.fromisoformat(start), datetime.fromisoformat(end))
            for maker, start, end in found["unsprayed"]
        ),
    )


def _key(session: Session) -> list[str]:
    return [session.maker, session.start.isoformat(), session.end.isoformat()]


def _session(session: Session, plan: Plan, work: Gathered) -> Plain:
    jobs = {job.task.id: job for job in work.jobs}
    return {
        "maker": session.maker,
        "start": session.start.isoformat(),
        "end": session.end.isoformat(),
        "tasks": [_task(placed, jobs, work) for placed in plan.in_session(session)],
        "airbrush": [_block(block) for block in plan.airbrush if block.session == session],
    }


def _task(placed: ScheduledTask, jobs: Mapping[str, Any], work: Gathered) -> Plain:
    task, job = placed.task, jobs[placed.task.id]
    return {
        "id": task.id,
        "doing": job.doing.value,
        "works": list(job.works),
        "decals": list(job.decals),
        "sheet": job.sheet,
        "coat": job.coat,
        "project": task.project,
        "project_name": work.projects[task.project].name,
        "also": list(task.also_for),
        "words": task.words,
        "minutes": task.minutes,
        "start": placed.start.isoformat(),
        "end": placed.end.isoformat(),
        "why": "" if placed.reason.cause is Cause.AT_ONCE else placed.reason.words,
        "cause": placed.reason.cause.value,
        "pinned": task.pinned_session is not None,
    }


def _block(block: AirbrushBlock) -> Plain:
    return {
        "words": block.work.value,
        "start": block.start.isoformat(),
        "end": block.end.isoformat(),
    }


def _end(end: ProjectEnd, work: Gathered) -> Plain:
    """A project's end; what only dries there may come last."""
    moment = end.end
    dry = work.dry_at.get(end.project.id)
    if moment and dry:
        moment = max(moment, dry)
    return _end_row(end.project.id, moment, work)


def _drying_only(plan: Plan, work: Gathered) -> Iterable[Plain]:
    """Projects on which there is nothing left to do but to wait."""
    told = {end.project.id for end in plan.ends}
    for code, dry in work.dry_at.items():
        if code not in told:
            yield _end_row(code, dry, work)


def _end_row(code: str, end: datetime | None, work: Gathered) -> Plain:
    due = next(project.due for project in work.input.projects if project.id == code)
    late = 0
    if end and due and end > due:
        late = -((due - end).days)
    return {
        "project": code,
        "name": work.projects[code].name,
        "end": end.isoformat() if end else None,
        "due": due.isoformat() if due else None,
        "late_days": late,
    }


def _bars(plan: Plan, work: Gathered) -> Plain:
    return {
        bar.project: {"bench": _spans(bar.bench), "drying": _spans(bar.drying)}
        for bar in bars_of(plan, work.input)
    }


def _spans(spans: Iterable[Span]) -> list[list[str]]:
    return [[start.isoformat(), end.isoformat()] for start, end in spans]


def _unplanned(left: UnplannedTask, work: Gathered) -> Plain:
    code = left.task.project
    return {
        "id": left.task.id,
        "project": code,
        "name": work.projects[code].name,
        "words": left.words,
    }


def _slips(missed: Slips, work: Gathered) -> Plain:
    return {
        "start": missed.skipped.start.isoformat(),
        "unplanned": len(missed.unplanned),
        "slips": [
            {
                "project": slip.project.id,
                "name": work.projects[slip.project.id].name,
                "end": slip.end.isoformat() if slip.end else None,
                "end_without": slip.end_without.isoformat() if slip.end_without else None,
            }
            for slip in missed.slips
        ],
    }
