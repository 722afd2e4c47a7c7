"""The plan's simplest form: one maker, one long session, no waits, one task for each project.

Only the order counts then (total weighted tardiness on one machine), and a whole neighbourhood can
be weighed at once: every swap of two tasks and every shift of one. All of the best moves that do
not overlap are made together, as dynasearch does (R. K. Congram, C. N. Potts, S. L. van de
Velde, INFORMS Journal on Computing 14, 2002); then the order is shaken and improved again.
"""

from __future__ import annotations

import random
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.plan.budget import Budget
from decaljobs.craft.plan.model import Model

Order = NDArray[np.intp]

#: Beyond this the table of all swaps (its cube) no longer pays.
MOST_TASKS = 120
KICKS = 4  # random swaps that shake an order
NOT_WORTH = -1e-6


class Jobs(NamedTuple):
    """Minutes of work, cost of a late minute, and minute due, for each job."""

    minutes: Numbers
    weight: Numbers
    due: Numbers


def one_machine_jobs(model: Model) -> Jobs | None:
    """The model's jobs, minutes counted from the session's start, if it is of this form, else None.

    >>> from datetime import UTC, datetime, timedelta
    >>> from decaljobs.craft.plan.model import benches_of, build_model
    >>> from decaljobs.craft.plan.tasks import PlanInput, Session, Task
    >>> noon = datetime(2026, 3, 2, 12, tzinfo=UTC)
    >>> tasks = (Task("hull", "boat", "lay", 30), Task("fret", "tram", "lay", 20))
    >>> sessions = (Session("Ada", noon, noon + timedelta(hours=3)),)
    >>> model = build_model(PlanInput(noon, tasks, (), sessions), tasks, benches_of(noon, sessions))
    >>> one_machine_jobs(model).minutes.tolist()
    [30.0, 20.0]
    """
    tasks = len(model.tasks)
    if not 1 < tasks <= MOST_TASKS or len(model.benches) != 1 or len(model.projects) != tasks:
        return None
    start, end = model.benches[0].starts[0], model.benches[0].ends[0]
    plain = (
        start + sum(model.minutes) <= end
        and not any(model.airbrush)
        and not any(model.before)
        and not any(dries is not None for dries in model.dries)
        and not model.pinned
        and max(model.release) <= start
        and all(len(projects) == 1 for projects in model.closes)
    )
    if not plain:
        return None
    project = [projects[0] for projects in model.closes]
    due = np.array([model.due[number] - start for number in project], float)
    weight = np.array([model.weight[number] for number in project], float)
    return Jobs(np.array(model.minutes, float), weight, due)


def tardiness_of(jobs: Jobs, order: Order) -> float:
    """Σ weight · tardiness of an order.

    >>> jobs = Jobs(np.array([3.0, 2.0]), np.array([1.0, 4.0]), np.array([3.0, 2.0]))
    >>> tardiness_of(jobs, np.array([0, 1])), tardiness_of(jobs, np.array([1, 0]))
    (12.0, 2.0)
    """
    late = np.cumsum(jobs.minutes[order]) - jobs.due[order]
    return float((np.maximum(late, 0.0) * jobs.weight[order]).sum())


def best_order(jobs: Jobs, first: list[int], budget: Budget, seed: int) -> tuple[list[int], int]:
    """The best order met until the budget is spent, and the number of orders weighed.

    `first`: the order to begin with, as numbers of jobs.

    >>> jobs = Jobs(np.array([3.0, 2.0]), np.array([1.0, 4.0]), np.array([3.0, 2.0]))
    >>> order, weighed = best_order(jobs, [0, 1], Budget(0.0, iterations=10), seed=1)
    >>> order, weighed <= 11
    ([1, 0], True)
    """
    shake = random.Random(seed)
    order = np.array(first, np.intp)
    best, cost = order, tardiness_of(jobs, order)
    here, here_cost, tries = best, cost, 0
    while cost > 0 and budget.spent(tries) < 1.0:
        found, found_cost, passes = _descend(jobs, order, budget, tries)
        tries += passes
        if found_cost <= here_cost + _patience(shake, here_cost):
            here, here_cost = found, found_cost
        if found_cost < cost:
            best, cost = found, found_cost
        if shake.random() < 0.02:
            here, here_cost = best, cost
        order = _shaken(here, shake)
    return [int(job) for job in best], tries


def _patience(shake: random.Random, cost: float) -> float:
    """How much worse an order may be taken: mostly not at all, now and then a little."""
    return 0.01 * cost * shake.random() if shake.random() < 0.1 else 0.0


def _shaken(order: Order, shake: random.Random) -> Order:
    order = order.copy()
    for _ in range(KICKS):
        one = shake.randrange(len(order))
        other = min(len(order) - 1, max(0, one + shake.randint(-8, 8)))
        order[one], order[other] = order[other], order[one]
    return order


def _descend(jobs: Jobs, order: Order, budget: Budget, tries: int) -> tuple[Order, float, int]:
    """Make all of the best moves together until none is left."""
    passes = 0
    while True:
        passes += 1
        moves = _best_moves(jobs, order)
        if not moves or budget.spent(tries + passes) >= 1.0:
            return order, tardiness_of(jobs, order), passes
        for kind, first, last in moves:
            order = _moved(order, kind, first, last)


def _moved(order: Order, kind: int, first: int, last: int) -> Order:
    order = order.copy()
    if kind == 0:
        order[first], order[last] = order[last], order[first]
    elif kind == 1:
        order[first : last + 1] = np.roll(order[first : last + 1], -1)
    else:
        order[first : last + 1] = np.roll(order[first : last + 1], 1)
    return order


def _best_moves(jobs: Jobs, order: Order) -> list[tuple[int, int, int]]:
    """The best set of moves that do not overlap: kind, first and last place."""
    gains = _gains(jobs, order)
    kinds = gains.argmin(axis=0)
    best = gains.min(axis=0)
    count = len(order)
    total = np.zeros(count + 1)  # cost change of the first so many places
    taken = np.full(count, -1)
    for last in range(1, count):
        options = total[:last] + best[:last, last]
        first = int(options.argmin())
        total[last + 1] = total[last]
        if options[first] < total[last] + NOT_WORTH:
            total[last + 1], taken[last] = options[first], first
    moves, last = [], count - 1
    while last > 0:
        first = int(taken[last])
        if first >= 0:
            moves.append((int(kinds[first, last]), first, last))
        last = first - 1 if first >= 0 else last - 1
    return moves


def _gains(jobs: Jobs, order: Order) -> Numbers:
    """Cost change of swap, shift later and shift earlier (3 × first × last place)."""
    minutes, weight, due = jobs.minutes[order], jobs.weight[order], jobs.due[order]
    ends = np.cumsum(minutes)
    late = ends - due
    cost = np.maximum(late, 0.0) * weight
    before = np.concatenate([[0.0], np.cumsum(cost)])
    was = before[None, 1:] - before[:-1, None]  # cost of places first to last
    shorter = _shifted(late, weight, -minutes)
    longer = _shifted(late, weight, minutes)
    moved_later = np.maximum(ends[None, :] - due[:, None], 0.0) * weight[:, None]
    begins = ends - minutes
    moved_sooner = np.maximum(begins[:, None] + (minutes - due)[None, :], 0.0) * weight[None, :]
    # shorter[a, k]: cost of the places before k, were each to end sooner by the minutes of a
    places = np.arange(len(order))
    later = shorter[:, 1:] - shorter[places, places + 1][:, None] + moved_later
    sooner = longer[places, places][None, :] - longer[:, :-1].T + moved_sooner
    inner = _inner_swaps(minutes, late, weight)
    swap = inner + moved_later + moved_sooner
    gains = np.stack([swap, later, sooner]) - was
    gains[:, places[:, None] >= places[None, :]] = 0.0
    return gains


def _shifted(late: Numbers, weight: Numbers, shifts: Numbers) -> Numbers:
    """Cost summed over places (columns, from none on) were all later by each shift (rows)."""
    cost = np.maximum(late[None, :] + shifts[:, None], 0.0) * weight[None, :]
    return np.concatenate([np.zeros((len(shifts), 1)), np.cumsum(cost, axis=1)], axis=1)


def _inner_swaps(minutes: Numbers, late: Numbers, weight: Numbers) -> Numbers:
    """Cost of the places strictly between two that are swapped (first × last)."""
    count = len(minutes)
    change = minutes[None, :] - minutes[:, None]
    inner = np.zeros((count, count))
    for place in range(1, count - 1):
        part = late[place] + change[:place, place + 1 :]
        inner[:place, place + 1 :] += np.maximum(part, 0.0) * weight[place]
    return inner
