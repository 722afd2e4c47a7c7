"""What slips if a session is missed."""

from datetime import timedelta

import pytest

from decaljobs.craft.benchplan import make_plan, what_slips
from decaljobs.craft.plan.tasks import Wait
from tests.benchmarks.made_up_plans import made_up_plan
from tests.benchmarks.plan_checks import faults
from tests.craft.plans import HOUR, MONDAY, after, due, evening, never, plan_input, task, week


def slips_of(given, session, **more):
    return what_slips(given, session, iterations=200, **more)


def test_it_says_how_much_later_a_project_ends():
    given = plan_input(
        [task("base"), task("clear", 30, after("base", 12))], projects=[due("boat", 40)]
    )
    slips = slips_of(given, evening(0))
    (slip,) = slips.slips
    assert slip.project.id == "boat"
    assert slip.end == MONDAY + 25.5 * HOUR
    assert slip.end_without == MONDAY + 49.5 * HOUR
    assert slip.later == timedelta(days=1)
    assert slips.skipped == evening(0)
    assert slips.plan.in_session(evening(0)) == ()


def test_it_leaves_projects_out_that_do_not_end_later():
    tasks = [task("base", 180), task("fret", 180, project="tram", pinned_session=evening(2))]
    slips = slips_of(plan_input(tasks), evening(0))
    assert [slip.project.id for slip in slips.slips] == ["boat"]


def test_nothing_slips_with_a_session_that_is_not_needed():
    slips = slips_of(plan_input([task("base", 60)]), evening(4))
    assert (slips.slips, slips.unplanned) == ((), ())


def test_it_says_what_then_finds_no_time_at_all():
    slips = slips_of(plan_input([task("base", 60)], [evening(0)]), evening(0))
    (slip,) = slips.slips
    assert (slip.end_without, slip.later) == (None, None)
    assert [left.task.id for left in slips.unplanned] == ["base"]


def test_it_does_not_tell_again_what_was_left_out_before():
    tasks = [task("base", 60), task("clear", 30, Wait("base", never))]
    slips = slips_of(plan_input(tasks, week(2)), evening(0))
    assert slips.unplanned == ()
    assert slips.slips == ()


def test_it_starts_from_the_plan_in_force():
    given = made_up_plan(2, 5, 10, 1.0)
    plan = make_plan(given, iterations=2000)
    skipped = plan.tasks[0].session
    slips = what_slips(given, skipped, plan=plan, iterations=0)
    left = [session for session in given.sessions if session != skipped]
    without = plan_input(given.tasks, left, given.projects, given.moment)
    assert faults(without, slips.plan) == []
    ends = {end.project.id: end.end for end in plan.ends}
    assert slips.slips
    assert all(slip.end == ends[slip.project.id] for slip in slips.slips)


def test_hours_that_overlap_are_missed_together():
    given = plan_input([task("base")], [evening(0, 19, 21), evening(0, 20, 22), evening(1)])
    slips = slips_of(given, evening(0, 19, 22))
    assert slips.slips[0].later == timedelta(days=1)


def test_it_rejects_a_session_that_is_none_of_the_plans():
    given = plan_input([task("base")])
    with pytest.raises(ValueError, match="no session of the plan starts at 2026-03-12"):
        what_slips(given, evening(10))
    with pytest.raises(ValueError, match="no session"):
        what_slips(given, evening(0, maker="Ben"))
