"""Small invented benches for the planner's tests: evenings of three hours in March 2026, UTC."""

from datetime import UTC, datetime, timedelta

from decaljobs.craft.plan.tasks import FixedWait, PlanInput, Project, Session, Task, Wait

MONDAY = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
MINUTE = timedelta(minutes=1)


def evening(day=0, start=19.0, end=22.0, maker="Ada"):
    """A session so many days after the Monday, from hour to hour."""
    midnight = MONDAY.replace(hour=0) + timedelta(days=day)
    return Session(maker, midnight + start * HOUR, midnight + end * HOUR)


def week(days=6, maker="Ada"):
    return tuple(evening(day, maker=maker) for day in range(days))


def after(name, hours=0.0, words="the layer"):
    """A wait of fixed length after another task."""
    return Wait(name, FixedWait(hours * HOUR), words)


def task(name, minutes=30, *waits, project="boat", **more):
    return Task(name, project, name, minutes, waits=waits, **more)


def plan_input(tasks, sessions=None, projects=(), moment=MONDAY, **more):
    sessions = week() if sessions is None else sessions
    return PlanInput(moment, tuple(tasks), tuple(projects), tuple(sessions), **more)


def due(name, hours, weight=1.0):
    """A project due so many hours after the Monday's 18:00."""
    return Project(name, f"the {name}", MONDAY + hours * HOUR, weight)


def starts(plan):
    """Task → hours and minutes after the Monday's midnight, as 'day HH:MM'."""
    midnight = MONDAY.replace(hour=0)
    return {
        placed.task.id: f"{(placed.start - midnight).days} {placed.start:%H:%M}"
        for placed in plan.tasks
    }


def never(start):
    """A wait that is never over."""
    return None
