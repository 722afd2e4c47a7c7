"""The bench plan: made behind the page, kept, and made anew when something has changed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.conf import settings
from django.db import IntegrityError, transaction
from django.utils import timezone

from decaljobs.craft.benchplan import Slips, what_slips
from decaljobs.craft.plan.tasks import Plan, PlanInput
from decaljobs.models import BenchPlan, PlanPin
from decaljobs.services import behind
from decaljobs.services.plan.planmarks import changes, marks, passed_by
from decaljobs.services.plan.planstore import to_begin_with, to_plain
from decaljobs.services.plan.planwork import gather
from decaljobs.services.plan.searches import searched

NAME = "bench plan {}"
#: Seconds of search at most, and for each task: a small workshop's plan is found sooner.
MOST_SECONDS, SECONDS_A_TASK = 5.0, 0.03
#: Seconds that planning around a missed session may take.
SLIP_SECONDS = 0.5
#: Makers whose next session is looked at for what slips if it is missed.
MOST_SLIPS = 4
#: Plans kept; older ones are of no use to anybody.
KEPT = 3
_FAILED = "The planning broke off. Press ‘Plan anew’; if it happens again, look at the log."


@dataclass(frozen=True)
class PlanStanding:
    """The newest plan, what changed since it was made, and whether a next one is being made."""

    plan: BenchPlan | None
    changed: tuple[str, ...]
    running: bool
    problem: str

    @property
    def is_stale(self) -> bool:
        return self.plan is None or bool(self.changed)


def standing(*, moment: datetime) -> PlanStanding:
    """Where the plan stands (thirteen queries)."""
    plan = BenchPlan.objects.made().first()
    kept = list(BenchPlan.objects.defer("marks", "found"))
    last = kept[0] if kept else None
    running = next((each for each in kept if each.state == BenchPlan.State.RUNNING), None)
    changed: list[str] = []
    if plan is not None:
        changed = changes(plan.marks, marks()) + passed_by(plan.found, moment)
    return PlanStanding(
        plan=plan,
        changed=tuple(changed),
        running=running is not None and _is_alive(running, moment),
        problem=last.problem if last else "",
    )


def newest() -> BenchPlan | None:
    """The newest plan that is made (one query)."""
    return BenchPlan.objects.made().first()


def newest_found() -> dict[str, Any]:
    """What the newest plan tells; empty before the first (one query)."""
    plan = newest()
    return plan.found if plan else {}


def begin(*, moment: datetime) -> BenchPlan | None:
    """Make the plan anew behind the page; None when one is being made already."""
    for stuck in BenchPlan.objects.running():
        if _is_alive(stuck, moment):
            return None
        _keep(stuck.pk, state=BenchPlan.State.FAILED, problem=_FAILED)
    try:
        with transaction.atomic():
            begun = BenchPlan.objects.create(moment=moment, beat_at=moment)
    except IntegrityError:  # somebody else was faster
        return None
    behind.start(NAME.format(begun.pk), run, begun.pk)
    return begun


def begin_if_stale(*, moment: datetime) -> bool:
    """Make the plan anew if something changed since; whether it was begun."""
    now = standing(moment=moment)
    return now.is_stale and not now.running and begin(moment=moment) is not None


def follow_change(*, moment: datetime) -> None:
    """Hand the next plan to the worker, where one is at work and somebody plans at all.

    Without a worker the plan's page sees for itself that it is out of date.
    """
    if settings.WORK_BEHIND == "worker" and BenchPlan.objects.made().exists():
        begin(moment=moment)


def make_now(*, moment: datetime, iterations: int) -> None:
    """Make the plan while one waits, in so many tries."""
    state = marks()
    found = _found(moment, iterations=iterations)
    made = BenchPlan.State.MADE
    BenchPlan.objects.create(
        state=made, moment=moment, beat_at=moment, made_at=moment, marks=state, found=found
    )


def run(pk: int) -> None:
    """Make one plan and keep it; safe to run twice."""
    record = BenchPlan.objects.filter(pk=pk, state=BenchPlan.State.RUNNING).first()
    if record is None:
        return
    try:
        state = marks()
        found = _found(record.moment)
    except Exception:
        _keep(pk, state=BenchPlan.State.FAILED, problem=_FAILED)
        raise
    _keep(pk, state=BenchPlan.State.MADE, made_at=timezone.now(), marks=state, found=found)
    _forget_old(record.moment)
    if changes(state, marks()):  # while it was being made
        follow_change(moment=timezone.now())


def seconds_for(plan_input: PlanInput) -> float:
    """How long to search for the best order of so much work, at most five seconds."""
    return min(MOST_SECONDS, SECONDS_A_TASK * len(plan_input.tasks))


def slips_of(plan: Plan, plan_input: PlanInput, *, iterations: int | None) -> dict[str, Slips]:
    """By maker, what ends later if their next session with work in it is missed."""
    found: dict[str, Slips] = {}
    seconds = min(SLIP_SECONDS, seconds_for(plan_input))
    for session in plan_input.sessions:
        if len(found) == MOST_SLIPS:
            break
        if session.maker not in found and plan.in_session(session):
            found[session.maker] = what_slips(
                plan_input, session, plan=plan, seconds=seconds, iterations=iterations
            )
    return found


def _found(moment: datetime, iterations: int | None = None) -> dict[str, Any]:
    before = newest()
    work = gather(moment=moment)
    plan = searched(
        work.input,
        seconds=seconds_for(work.input),
        iterations=iterations,
        start_from=to_begin_with(before.found) if before else None,
    )
    return to_plain(plan, work, slips_of(plan, work.input, iterations=iterations))


def _is_alive(record: BenchPlan, moment: datetime) -> bool:
    return behind.is_alive(NAME.format(record.pk), record.beat_at, moment)


def _keep(pk: int, **values: Any) -> None:
    BenchPlan.objects.filter(pk=pk, state=BenchPlan.State.RUNNING).update(**values)


def _forget_old(moment: datetime) -> None:
    newest = list(BenchPlan.objects.values_list("pk", flat=True)[:KEPT])
    BenchPlan.objects.exclude(pk__in=newest).delete()
    PlanPin.objects.filter(ends_at__lte=moment).delete()
