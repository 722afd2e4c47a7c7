"""Deals that the tests of their changes share."""

from dataclasses import replace

from decaljobs.craft.plan.deal import Deal
from decaljobs.craft.plan.guide import Guide
from decaljobs.craft.plan.model import benches_of, build_model
from decaljobs.craft.plan.packing import Sessions
from decaljobs.craft.plan.timeline import Timeline
from tests.craft.plans import after, due, evening, plan_input, task

#: The last session of each of ``many_tasks`` in the tests.
HIGH = [3, 0, 3, 3, 3, 3, 3, 2, 3, 3]


def sessions_of(tasks, projects=(), evenings=4):
    asked = plan_input(tasks, [evening(day) for day in range(evenings)], projects)
    return Sessions(build_model(asked, asked.tasks, benches_of(asked.moment, asked.sessions)))


def timeline_of(tasks, projects=(), sessions=None, order=None):
    asked = plan_input(tasks, sessions or [evening(day) for day in range(4)], projects)
    model = build_model(asked, asked.tasks, benches_of(asked.moment, asked.sessions))
    return Timeline(model, order or range(len(tasks)))


def tasks_of(*minutes, **more):
    return [task(f"t{n}", length, project=f"p{n}", **more) for n, length in enumerate(minutes)]


def two_full_evenings():
    """100 + 80 minutes in the first evening, 120 + 60 in the next; other pairings need three."""
    projects = [due("p0", 4), due("p2", 4), due("p1", 28), due("p3", 28)]
    return timeline_of(tasks_of(100, 60, 80, 120), projects)


def light_and_heavy():
    """Two projects of which one cannot be in time, the second of five times the weight."""
    tasks = [task(f"{step}{n}", 80, project=f"p{n}") for n in range(2) for step in "ab"]
    tasks[1::2] = [replace(late, waits=(after(f"a{n}", 12),)) for n, late in enumerate(tasks[1::2])]
    tasks.append(task("c", 80, project="p2"))
    projects = [due("p0", 29), due("p1", 29, weight=5.0), due("p2", 5)]
    return timeline_of(tasks, projects)


def is_heavy_in_time(timeline):
    """Whether ``light_and_heavy`` has its heavier project in time, and the short third one."""
    ends = dict(zip("012", timeline.project_end, strict=True))
    return ends["1"] <= 29 * 60 and ends["2"] <= 5 * 60


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
