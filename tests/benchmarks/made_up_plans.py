"""Invented bench plans of any size, the same for the same seed: models in their usual steps."""

from __future__ import annotations

import random
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from decaljobs.craft.plan.hours import WeeklyHours, sessions_between
from decaljobs.craft.plan.tasks import FixedWait, PlanInput, Project, Session, Task, Wait

MOMENT = datetime(2026, 3, 2, 17, 0, tzinfo=UTC)
LONDON = ZoneInfo("Europe/London")
PATTERN = (
    *(WeeklyHours(day, time(19), time(22)) for day in range(5)),
    WeeklyHours(5, time(9), time(13)),
)
HOURS = {
    hours: FixedWait(timedelta(hours=hours)) for hours in (0.25, 0.5, 4.0, 12.0, 16.0, 20.0, 24.0)
}
#: Step, minutes, by airbrush or not, hours to dry: a laminated marking, its figures from the trade.
LAMINATED = (
    ("cut base", (15, 40), False, 0.25),
    ("lay base", (15, 30), False, 12.0),
    ("cut clear", (10, 30), False, 0.25),
    ("lay clear", (15, 35), False, 12.0),
)


def sessions_for(weeks: int, moment: datetime = MOMENT, maker: str = "Ada") -> tuple[Session, ...]:
    """The usual week's sessions: five evenings of three hours and a Saturday morning."""
    until = moment + timedelta(weeks=weeks)
    return sessions_between(PATTERN, (), moment, until, LONDON, maker)


def made_up_plan(seed: int, projects: int, tasks_each: int = 10, haste: float = 0.0) -> PlanInput:
    """A plan of so many projects with about `tasks_each` tasks, half of them due too soon."""
    rng = random.Random(seed)
    tasks: list[Task] = []
    for number in range(projects):
        tasks += _project_tasks(rng, f"p{number}", tasks_each)
    work = sum(task.minutes for task in tasks)
    weeks = max(2, round(work * 1.6 / (19 * 60)) + 2)
    span = work / (19 * 60) * 7 * 24 * 60 + 3 * 24 * 60
    dues = [
        Project(
            f"p{number}",
            f"model {number}",
            MOMENT
            + timedelta(minutes=round(rng.uniform(0.6 - 0.4 * haste, 1.6 - 0.6 * haste) * span)),
            rng.choice((1, 1, 1, 2, 3, 5)),
        )
        for number in range(projects)
    ]
    return PlanInput(MOMENT, tuple(tasks), tuple(dues), sessions_for(weeks), LONDON)


def _project_tasks(rng: random.Random, project: str, count: int) -> list[Task]:
    """Print, two sealing coats, then markings in four steps each, and an overcoat."""
    made = [
        Task(f"{project}-print", project, "print", rng.randrange(10, 25)),
        _after(
            f"{project}-coat1", project, "first coat", 15, f"{project}-print", rng, (0.25, 12.0)
        ),
        _after(f"{project}-coat2", project, "last coat", 15, f"{project}-coat1", rng, (0.5,)),
    ]
    laid = []
    while len(made) < count - 1:
        before, hours = f"{project}-coat2", rng.choice((4.0, 20.0, 24.0))
        for step, minutes, _, dries in LAMINATED[: max(1, count - 1 - len(made))]:
            name = f"{project}-{step}-{len(laid)}".replace(" ", "-")
            wait = Wait(before, HOURS[hours], "the layer")
            made.append(Task(name, project, step, rng.randrange(*minutes, 5), waits=(wait,)))
            before, hours = name, dries
        laid.append((before, hours))
    waits = tuple(Wait(name, HOURS[hours], "the layer") for name, hours in laid)
    over = Task(f"{project}-over", project, "overcoat", 20, airbrush=True, waits=waits)
    return [*made, over] if count > 3 else made[:count]


def _after(
    name: str,
    project: str,
    words: str,
    minutes: int,
    before: str,
    rng: random.Random,
    hours: tuple[float, ...],
) -> Task:
    wait = Wait(before, HOURS[rng.choice(hours)], "the coat")
    return Task(name, project, words, minutes, airbrush=True, waits=(wait,))
