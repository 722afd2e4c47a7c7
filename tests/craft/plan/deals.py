"""Deals that the tests of their changes share."""

from decaljobs.craft.plan.deal import Deal
from decaljobs.craft.plan.guide import Guide
from decaljobs.craft.plan.model import benches_of, build_model
from decaljobs.craft.plan.packing import Sessions
from tests.craft.plans import after, due, evening, plan_input, task

#: The last session of each of ``many_tasks`` in the tests.
HIGH = [3, 0, 3, 3, 3, 3, 3, 2, 3, 3]


def sessions_of(tasks, projects=(), evenings=4):
    asked = plan_input(tasks, [evening(day) for day in range(evenings)], projects)
    return Sessions(build_model(asked, asked.tasks, benches_of(asked.moment, asked.sessions)))


def deal_of(sessions, place, price=100.0):
    return Deal(sessions, place, Guide.of(sessions.model), price)


def many_tasks():
    """Ten of six projects; four of them wait overnight for others."""
    tasks = [task(f"p{n}", 20 + 7 * n, project=f"m{n}", airbrush=n % 3 == 0) for n in range(6)]
    return tasks + [
        task(f"l{n}", 40, after(f"p{n}", 12), project=f"m{n}", also_for=("m5",)[: n % 2])
        for n in range(4)
    ]


def many_sessions():
    return sessions_of(many_tasks(), [due(f"m{n}", 5 + 20 * n) for n in range(6)])


def many_dealt(sessions):
    return deal_of(sessions, [0] * 6 + [1] * 4)


def is_right(deal):
    """Whether it costs what a deal made anew would cost, and keeps waits and windows."""
    anew = deal_of(deal.sessions, deal.place)
    names = ("load", "sprays", "holds", "ending", "last", "excess", "over", "final", "end")
    same = all(getattr(deal, name) == getattr(anew, name) for name in names)
    inside = [sorted(tasks) for tasks in deal.inside] == [sorted(tasks) for tasks in anew.inside]
    waits = all(deal.place[n] < deal.place[6 + n] for n in range(4))
    kept = all(there <= last for there, last in zip(deal.place, HIGH, strict=True))
    return same and inside and waits and kept and abs(deal.cost - anew.cost) < 1e-6
