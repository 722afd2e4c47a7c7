"""Why a task is not sooner: the words that stand beside it."""

from zoneinfo import ZoneInfo

import pytest

from decaljobs.craft.benchplan import make_plan
from decaljobs.craft.plan.tasks import Cause, Wait
from tests.craft.plans import HOUR, MONDAY, after, due, evening, plan_input, task, week


def reasons(tasks, iterations=300, **more):
    plan = make_plan(plan_input(tasks, **more), iterations=iterations)
    return {placed.task.id: (placed.reason.cause, placed.reason.words) for placed in plan.tasks}


def test_it_starts_at_once_if_the_bench_is_open():
    found = reasons([task("cut")], moment=MONDAY + 1.5 * HOUR)
    assert found == {"cut": (Cause.AT_ONCE, "starts at once")}


def test_it_waits_for_the_bench_to_open():
    assert reasons([task("cut")]) == {"cut": (Cause.BENCH_CLOSED, "the bench opens Mon 19:00")}


def test_it_names_the_layer_that_dries():
    found = reasons([task("base"), task("clear", 30, after("base", 24.25, "base"))])
    assert found["clear"] == (Cause.WAIT, "base dries until Tue 19:45")


def test_it_names_the_work_whose_layer_dries_if_the_wait_has_no_words():
    found = reasons([task("base"), task("clear", 30, after("base", 1, ""))])
    assert found["clear"] == (Cause.WAIT, "‘base’ dries until Mon 20:30")


def test_it_names_a_layer_that_dries_already():
    running = Wait(None, lambda start: start + 3 * HOUR, "the sealer")
    assert reasons([task("cut", 30, running)])["cut"] == (
        Cause.WAIT,
        "the sealer dries until Mon 21:00",
    )


def test_it_names_the_wait_that_is_over_last():
    tasks = [
        task("base"),
        task("seal"),
        task("lay", 30, after("base", 1, "the base"), after("seal", 2, "the sealer")),
    ]
    assert reasons(tasks)["lay"][1].startswith("the sealer dries until")


def test_it_says_the_bench_opens_if_the_layer_was_dry_before():
    found = reasons([task("base"), task("clear", 30, after("base", 12, "base"))])
    assert found["clear"] == (Cause.WAIT, "base dries until Tue 07:30")


def test_it_names_the_work_it_comes_after():
    found = reasons([task("cut"), task("lay", 30, after("cut"))])
    assert found["lay"] == (Cause.BEFORE, "comes after ‘cut’")


def test_it_names_the_work_that_holds_the_bench():
    tasks = [task("cut", 40), task("fret", 60, project="tram")]
    found = reasons(tasks, projects=[due("boat", 1), due("tram", 100)])
    assert found["fret"] == (Cause.BENCH_TAKEN, "‘cut’ is on the bench until Mon 19:40")


def test_it_names_the_session_that_is_full():
    tasks = [task("cut", 150), task("fret", 60, project="tram")]
    found = reasons(tasks, projects=[due("boat", 1), due("tram", 100)])
    assert found["fret"] == (
        Cause.NO_ROOM,
        "no room for 60 min was left in the session of Mon 19:00",
    )


def test_it_names_the_airbrush_that_is_set_up():
    found = reasons([task("seal", airbrush=True)])
    assert found["seal"] == (Cause.AIRBRUSH, "the airbrush is set up until Mon 19:15")


def test_it_says_that_work_is_kept_to_set_the_airbrush_up_once():
    tasks = [
        task("cut", 10),
        task("first", 10, after("cut", 12), airbrush=True),
        task("other", 10, project="tram", airbrush=True),
    ]
    found = reasons(tasks, projects=[due("boat", 100), due("tram", 100)])
    assert found["other"] == (
        Cause.AIRBRUSH,
        "kept for Tue 19:00, to set the airbrush up less often",
    )


def test_it_speaks_of_room_not_of_thrift_where_the_airbrush_does_not_fit():
    tasks = [task("cut", 140), task("seal", 30, project="tram", airbrush=True)]
    found = reasons(tasks, projects=[due("boat", 1), due("tram", 100)])
    assert found["seal"] == (
        Cause.NO_ROOM,
        "no room for 60 min with the airbrush's set-up and cleaning was left in the session "
        "of Mon 19:00",
    )


def test_it_says_that_a_task_is_pinned():
    found = reasons([task("cut", pinned_start=MONDAY + 26 * HOUR)])
    assert found["cut"] == (Cause.PINNED, "pinned to Tue 20:00")


@pytest.mark.parametrize(
    "days, start, words",
    [(26, 20, "base dries until Sun 10:00"), (236, 19, "base dries until Sun 08:00")],
    ids=["forward", "back"],
)
def test_it_writes_the_clock_on_the_wall_in_both_clock_change_weeks(days, start, words):
    # London's clocks go forward on 29 March and back on 25 October 2026 (IANA, RFC 6557): an hour
    # of work from 20:00 on that Saturday and twelve of drying end at 10:00 and at 08:00.
    sessions = [evening(days, start, start + 1), evening(days + 1, 0, 23)]
    tasks = [task("base", 60), task("clear", 30, after("base", 12, "base"))]
    given = {"sessions": sessions, "moment": sessions[0].start, "zone": ZoneInfo("Europe/London")}
    assert reasons(tasks, **given)["clear"] == (Cause.WAIT, words)


def test_reasons_do_not_depend_on_the_order_in_which_the_sessions_are_told():
    tasks = [task("cut", 150), task("fret", 60, project="tram")]
    projects = [due("boat", 1), due("tram", 100)]
    one = reasons(tasks, projects=projects, sessions=week(3))
    assert one == reasons(tasks, projects=projects, sessions=reversed(week(3)))
