"""The checker that every plan's test leans on: a plan with one thing wrong in it is found out."""

from dataclasses import replace

import pytest

from decaljobs.craft.benchplan import make_plan
from decaljobs.craft.plan.tasks import Session, UnplannedTask
from tests.benchmarks.plan_checks import faults
from tests.craft.plans import HOUR, MINUTE, after, due, evening, plan_input, task

ASKED = plan_input(
    [
        task("coat", 30, airbrush=True),
        task("base", 40, after("coat", 12), makers=("Ada",)),
        task("badge", 20, pinned_start=evening(1).start + 2 * HOUR, project="tram"),
    ],
    projects=[due("boat", 20), due("tram", 40)],
)
PLAN = make_plan(ASKED, iterations=50, seed=1)


def placed(name):
    return next(one for one in PLAN.tasks if one.task.id == name)


def changed(name, **fields):
    """The plan with one task placed otherwise."""
    other = tuple(replace(one, **fields) if one.task.id == name else one for one in PLAN.tasks)
    return replace(PLAN, tasks=other)


def moved(name, by):
    return changed(name, start=placed(name).start + by, end=placed(name).end + by)


def airbrush_moved(number, by, longer=0 * MINUTE):
    blocks = list(PLAN.airbrush)
    block = blocks[number]
    blocks[number] = replace(block, start=block.start + by, end=block.end + by + longer)
    return replace(PLAN, airbrush=tuple(blocks))


def anothers(session):
    return Session("Ben", session.start, session.end)


def test_a_plan_that_keeps_every_rule_has_no_faults():
    assert [one.task.id for one in PLAN.tasks] == ["coat", "base", "badge"]
    assert faults(ASKED, PLAN) == []


@pytest.mark.parametrize(
    ("plan", "fault"),
    [
        (replace(PLAN, tasks=PLAN.tasks[1:]), "not told exactly once"),
        (replace(PLAN, tasks=PLAN.tasks + PLAN.tasks[:1]), "not told exactly once"),
        (replace(PLAN, unplanned=(UnplannedTask(placed("base").task, "no"),)), "exactly once"),
        (moved("base", -2 * HOUR), "base lies outside its session"),
        (changed("base", session=evening(9)), "base lies outside its session"),
        (changed("base", end=placed("base").end + MINUTE), "base takes 0:41"),
        (changed("base", session=anothers(placed("base").session)), "base is done by Ben"),
        (
            changed("badge", start=placed("base").start, end=placed("base").start + 20 * MINUTE),
            "Ada does two things at",
        ),
        (
            changed("base", session=evening(0), start=placed("coat").end, end=evening(0).end),
            "base starts before its wait after coat is over",
        ),
        (replace(PLAN, airbrush=()), "not set up and cleaned once"),
        (replace(PLAN, airbrush=PLAN.airbrush * 2), "not set up and cleaned once"),
        (moved("coat", -MINUTE), "spraying before the set-up is over"),
        (airbrush_moved(1, -MINUTE), "is not the session's end"),
        (airbrush_moved(1, 3 * HOUR), "is not the session's end"),
        (airbrush_moved(0, -MINUTE, longer=MINUTE), "set-up and cleaning take"),
        (
            replace(PLAN, ends=tuple(replace(e, end=e.end + MINUTE) for e in PLAN.ends)),
            "boat ends",
        ),
        (replace(PLAN, objective=PLAN.objective + 1), "the objective is"),
    ],
)
def test_one_thing_wrong_is_found_out(plan, fault):
    assert any(fault in told for told in faults(ASKED, plan))
