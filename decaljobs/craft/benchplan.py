"""The bench plan: which task in which session, so that every project is done soonest.

The objective, in minutes, is 20 · Σ weight · tardiness + end + 60 · airbrush sessions: due dates
first, then an early end, then few times of setting the airbrush up.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import partial
from time import monotonic

from decaljobs.craft.plan.budget import Budget
from decaljobs.craft.plan.check import Check
from decaljobs.craft.plan.dealing import Dealer, can_deal
from decaljobs.craft.plan.framed import Framer
from decaljobs.craft.plan.guide import Guide
from decaljobs.craft.plan.keeping import Keeper
from decaljobs.craft.plan.model import Model, benches_of, build_model
from decaljobs.craft.plan.moves import seeded
from decaljobs.craft.plan.onemachine import best_order, one_machine_jobs
from decaljobs.craft.plan.promises import can_promise
from decaljobs.craft.plan.ranking import first_timeline, repeated
from decaljobs.craft.plan.report import Report
from decaljobs.craft.plan.search import FEW_TASKS, Annealing
from decaljobs.craft.plan.tasks import Plan, PlanInput, Project, Session, UnplannedTask
from decaljobs.craft.plan.timeline import Timeline

#: What a plan made while somebody waits may take, seconds (a choice).
SECONDS = 5.0
#: Shares of the time at which the first search and the promises end, with so many projects and
#: with more; the rest touches the plan up, begun at that share of a delay's cost (all tried out).
FEW_PROJECTS, FEW_SHARES, MORE_SHARES, TOUCH_UP = 6, (0.1, 0.9), (0.2, 0.7), 0.02
#: Shares of the time at which the first search ends and that by frames or deals, with many projects
#: (tried out).
MANY_SHARES = (0.03, 0.95)


def make_plan(
    plan_input: PlanInput,
    *,
    seconds: float = SECONDS,
    iterations: int | None = None,
    clock: Callable[[], float] = monotonic,
    seed: int = 1,
    start_from: Plan | None = None,
) -> Plan:
    """The best plan found in ``seconds`` (0 or more; by ``clock``) or in ``iterations`` tries.

    With ``iterations`` the clock is not asked and the same input gives the same plan. 0 gives the
    first plan, made by rule. ``start_from`` is an earlier plan to begin with. What cannot be
    planned is left out and said in ``unplanned`` and ``notes``; ValueError for two tasks of
    one id or moments without a zone.

    >>> from datetime import UTC, datetime
    >>> from decaljobs.craft.plan.tasks import Task
    >>> evening = datetime(2026, 3, 2, 19, tzinfo=UTC)
    >>> session = Session("Ada", evening, evening + timedelta(hours=3))
    >>> tasks = (Task("print", "boat", "print", 20), Task("fret", "tram", "cut base", 30))
    >>> plan = make_plan(PlanInput(evening, tasks, (), (session,)), iterations=50)
    >>> [f"{placed.task.words} {placed.start:%H:%M}" for placed in plan.tasks]
    ['print 19:00', 'cut base 19:20']
    """
    budget = Budget(seconds, iterations, clock)
    check = Check(plan_input)
    if not check.tasks:
        return Report(_nothing(check), check).plan(0.0, 0)
    model = build_model(check.input, check.tasks, benches_of(check.input.moment, check.sessions))
    guide = Guide.of(model)
    first = first_timeline(model, guide)
    first_objective = Report(first, check).objective()
    if start_from is not None:
        first = min(first, repeated(model, guide, start_from), key=lambda known: known.cost)
    timeline, tries = _improved(model, guide, first, budget, seed)
    return Report(timeline, check).plan(first_objective, tries)


def _nothing(check: Check) -> Timeline:
    benches = benches_of(check.input.moment, check.sessions)
    return Timeline(build_model(check.input, (), benches), ())


def _improved(
    model: Model, guide: Guide, first: Timeline, budget: Budget, seed: int
) -> tuple[Timeline, int]:
    jobs = one_machine_jobs(model)
    if jobs is not None:
        order, tries = best_order(jobs, first.slots.order, budget, seed)
        return Timeline(model, order, guide=guide), tries
    if len(model.tasks) > FEW_TASKS and can_promise(model):
        return _with_promises(model, guide, first, budget, seed)
    if len(model.tasks) > FEW_TASKS and can_deal(first):
        return _with_frames(model, guide, first, budget, seed)
    search = Annealing(first, seed)
    search.run(budget)
    return _best_of(search, guide), search.tries


def _best_of(search: Annealing, guide: Guide) -> Timeline:
    return Timeline(search.timeline.model, search.best_order, search.best_unsprayed, guide)


def _with_promises(
    model: Model, guide: Guide, first: Timeline, budget: Budget, seed: int
) -> tuple[Timeline, int]:
    """A search of tasks, then of promises for the projects, then of tasks from there on."""
    searched, promised = FEW_SHARES if len(model.projects) <= FEW_PROJECTS else MORE_SHARES
    search = Annealing(first, seed)
    search.run(budget.until(searched))
    keeper = Keeper(_best_of(search, guide), guide, seeded(seed))
    keeper.run(budget.until(promised))
    last = Annealing(keeper.best, seed)
    last.run(budget.until(1.0), TOUCH_UP)
    return _best_of(last, guide), search.tries + keeper.tries + last.tries


def _with_frames(
    model: Model, guide: Guide, first: Timeline, budget: Budget, seed: int
) -> tuple[Timeline, int]:
    """A search of tasks, then by frames or, where they do not suit, by deals; then of tasks."""
    searched, found = MANY_SHARES
    search = Annealing(first, seed)
    search.run(budget.until(searched))
    known = _best_of(search, guide)
    framer = Framer(known, guide, seeded(seed))
    finder = framer if framer.suits else Dealer(known, guide, seeded(seed))
    finder.run(budget.until(found))
    last = Annealing(finder.best, seed)
    last.run(budget.until(1.0), TOUCH_UP)
    return _best_of(last, guide), search.tries + finder.tries + last.tries


@dataclass(frozen=True, slots=True)
class Slip:
    """A project's end with a session and without it; None where part of it finds no time.

    ``later`` is how much later it ends, None if it no longer does.
    """

    project: Project
    end: datetime | None
    end_without: datetime | None
    later: timedelta | None


@dataclass(frozen=True, slots=True)
class Slips:
    """What happens if a session is missed; ``slips`` holds only the projects that end later."""

    skipped: Session
    slips: tuple[Slip, ...]
    unplanned: tuple[UnplannedTask, ...]
    plan: Plan


def what_slips(
    plan_input: PlanInput,
    skipped_session: Session,
    *,
    plan: Plan | None = None,
    seconds: float = 1.0,
    iterations: int | None = None,
    clock: Callable[[], float] = monotonic,
    seed: int = 1,
) -> Slips:
    """Which projects end later if a session is missed, and by how much.

    ``plan`` is the plan in force; without it one is made first. The work is planned anew around
    the gap, from that plan on, within ``seconds`` (or ``iterations``) for each plan. Hours of
    the maker that overlap the session are one with it. ValueError if there are none.

    >>> from datetime import UTC, datetime
    >>> from decaljobs.craft.plan.tasks import Task
    >>> evening, day = datetime(2026, 3, 2, 19, tzinfo=UTC), timedelta(days=1)
    >>> monday, tuesday = (
    ...     Session("Ada", start, start + timedelta(hours=3)) for start in (evening, evening + day))
    >>> asked = PlanInput(evening, (Task("base", "boat", "base", 60),), (), (monday, tuesday))
    >>> what_slips(asked, monday, iterations=10).slips[0].later
    datetime.timedelta(days=1)
    """
    left = tuple(s for s in plan_input.sessions if not s.overlaps(skipped_session))
    if len(left) == len(plan_input.sessions):
        raise ValueError(f"no session of the plan starts at {skipped_session.start.isoformat()}")
    make = partial(make_plan, seconds=seconds, iterations=iterations, clock=clock, seed=seed)
    plan = plan or make(plan_input)
    without = make(replace(plan_input, sessions=left), start_from=plan)
    ends = {end.project.id: end.end for end in without.ends}
    slips = [_slip(end.project, end.end, ends.get(end.project.id)) for end in plan.ends if end.end]
    known = {left_out.task.id for left_out in plan.unplanned}
    return Slips(
        skipped_session,
        tuple(slip for slip in slips if slip.later is None or slip.later > timedelta(0)),
        tuple(left_out for left_out in without.unplanned if left_out.task.id not in known),
        without,
    )


def _slip(project: Project, end: datetime, end_without: datetime | None) -> Slip:
    return Slip(project, end, end_without, None if end_without is None else end_without - end)
