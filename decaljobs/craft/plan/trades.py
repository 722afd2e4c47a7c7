"""Trades: work leaves a session, and work that waits for room there comes in and fills it up."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from decaljobs.craft.plan.timeline import Move, Timeline

#: Shares of trades that send two tasks away, and that let two in where one would do (tried out).
TWO_LEAVE, TWO_COME = 0.5, 0.3


def trade(timeline: Timeline, chance: Callable[[], float]) -> Move | None:
    """One or two tasks of a session against one or two that pass it over; None if none fit.

    ``chance`` draws numbers from 0 to below 1. The move is not made yet.

    >>> from datetime import UTC, datetime, timedelta
    >>> from decaljobs.craft.plan.model import benches_of, build_model
    >>> from decaljobs.craft.plan.tasks import PlanInput, Session, Task
    >>> noon, hour = datetime(2026, 3, 2, 12, tzinfo=UTC), timedelta(hours=1)
    >>> tasks = (Task("short", "boat", "lay", 40), Task("long", "tram", "lay", 60))
    >>> days = (timedelta(0), timedelta(days=1))
    >>> sessions = tuple(Session("Ada", noon + day, noon + day + hour) for day in days)
    >>> model = build_model(PlanInput(noon, tasks, (), sessions), tasks, benches_of(noon, sessions))
    >>> move = trade(Timeline(model, (0, 1)), chance=lambda: 0.0)
    >>> [model.tasks[task].id for task in move.stretch]
    ['long', 'short']
    """
    model, slots = timeline.model, timeline.slots
    leaving = _leaving(timeline, chance)
    session = slots.place[leaving[0]].session
    waiting = [
        task
        for task, span in enumerate(timeline.span)
        if span >> session & 1 and slots.place[task].session != session
    ]
    if not waiting:
        return None
    length = sum([model.minutes[task] for task in leaving])
    coming = [_drawn(waiting, chance)]
    room = slots.room(session) + length - model.minutes[coming[0]]
    missing = length - model.minutes[coming[0]]
    if room < 0:
        return None
    if missing > 0 or chance() < TWO_COME:
        target = slots.place[coming[0]].session
        others = [task for task in waiting if slots.place[task].session == target]
        others += model.after[coming[0]]
        fitting = [
            task for task in others if missing <= model.minutes[task] <= room and task != coming[0]
        ]
        if fitting:
            coming.append(_drawn(fitting, chance))
        elif missing > 0:
            return None
    return _traded(timeline, leaving, coming)


def _drawn(tasks: Sequence[int], chance: Callable[[], float]) -> int:
    return tasks[int(chance() * len(tasks))]


def _leaving(timeline: Timeline, chance: Callable[[], float]) -> list[int]:
    slots = timeline.slots
    first = int(chance() * len(slots.place))
    if chance() < TWO_LEAVE:
        inside = slots.busy[slots.place[first].session]
        other = inside[int(chance() * len(inside))][2]
        if other != first:
            return [first, other]
    return [first]


def _traded(timeline: Timeline, leaving: list[int], coming: list[int]) -> Move | None:
    """The ranks of all of them dealt anew, those that come in first; None if a wait forbids it."""
    slots, model = timeline.slots, timeline.model
    known = slots.rank
    leaving.sort(key=known.__getitem__)
    coming.sort(key=known.__getitem__)
    moved = list(dict.fromkeys(coming + leaving))
    ranks = sorted([known[task] for task in moved])
    dealt = dict(zip(moved, ranks, strict=True))
    for task, rank in dealt.items():
        for earlier, _ in model.before[task]:
            if dealt.get(earlier, known[earlier]) > rank:
                return None
        for later in model.after[task]:
            if dealt.get(later, known[later]) < rank:
                return None
    stretch = slots.order[ranks[0] : ranks[-1] + 1]
    for task, rank in dealt.items():
        stretch[rank - ranks[0]] = task
    return Move(ranks[0], stretch, moved)
