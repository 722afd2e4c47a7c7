"""Bad input is planned around and said in words, or refused."""

from datetime import UTC, datetime, timedelta
from time import process_time

import pytest

from decaljobs.craft.benchplan import make_plan
from decaljobs.craft.plan.tasks import FixedWait, PlanInput, Project, Session, Task, Wait
from tests.benchmarks.made_up_plans import made_up_plan
from tests.benchmarks.plan_checks import faults
from tests.craft.plans import HOUR, MONDAY, after, due, evening, never, plan_input, starts, task


def planned(tasks, **more):
    given = plan_input(tasks, **more)
    plan = make_plan(given, iterations=100)
    assert faults(given, plan) == []
    return plan


def left_out(plan):
    return {left.task.id: left.words for left in plan.unplanned}


def test_it_says_that_there_are_no_bench_hours():
    plan = planned([task("cut"), task("lay", 30, after("cut"))], sessions=[])
    assert plan.notes == ("There are no bench hours to plan for.",)
    assert left_out(plan) == {
        "cut": "‘cut’ is left out: there are no bench hours.",
        "lay": "‘lay’ comes after ‘cut’, not planned.",
    }
    assert [(end.project.id, end.end) for end in plan.ends] == [("boat", None)]
    assert plan.objective == 0


def test_it_says_so_too_if_all_hours_are_past():
    plan = planned([task("cut")], sessions=[evening(-1)])
    assert plan.notes == ("There are no bench hours to plan for.",)
    assert list(left_out(plan)) == ["cut"]


def test_it_names_the_maker_who_has_no_hours():
    plan = planned([task("cut", makers=("Ben",)), task("lay")])
    assert left_out(plan) == {"cut": "‘cut’ is left out: there are no bench hours of Ben."}
    assert starts(plan) == {"lay": "0 19:00"}


def test_it_takes_overlapping_hours_as_one_session_and_says_so():
    given = plan_input([task("cut", 200)], [evening(0, 19, 22), evening(0, 21, 23)])
    plan = make_plan(given, iterations=20)
    assert plan.notes == (
        "Bench hours of Ada overlap at Mon 21:00; they are taken as one session.",
    )
    assert plan.tasks[0].session == evening(0, 19, 23)


def test_hours_of_two_makers_may_overlap():
    plan = planned([task("cut")], sessions=[evening(), evening(maker="Ben")])
    assert plan.notes == ()


def test_it_names_the_task_that_does_not_fit_a_short_session():
    plan = planned([task("cut", 30), task("lay", 40)], sessions=[evening(0, 19, 19.25), evening(1)])
    assert plan.notes == (
        "Nothing fits into Ada's session of Mon 19:00: the shortest task, ‘cut’, takes 30 min.",
    )
    assert starts(plan)["cut"] == "1 19:00"


def test_it_leaves_out_a_task_longer_than_every_session():
    plan = planned([task("cut", 200), task("lay", 10, after("cut")), task("print", 20)])
    assert left_out(plan) == {
        "cut": "‘cut’ takes 200 min; the longest session has 180 min.",
        "lay": "‘lay’ comes after ‘cut’, not planned.",
    }
    assert list(starts(plan)) == ["print"]


def test_it_counts_the_airbrush_to_the_length_of_a_task():
    plan = planned([task("seal", 160, airbrush=True)])
    assert left_out(plan) == {
        "seal": "‘seal’ takes 190 min with the airbrush's set-up and cleaning; "
        "the longest session has 180 min."
    }


def test_it_plans_a_past_date_as_late_and_says_so():
    plan = planned([task("cut")], projects=[due("boat", -48)])
    assert plan.notes == ("‘the boat’ was due Sat 28 Feb, which is past; it is planned as late.",)
    assert plan.ends[0].late_minutes == (48 + 1.5) * 60


def test_it_does_not_speak_of_past_dates_of_projects_without_work():
    assert planned([task("cut")], projects=[due("tram", -48)]).notes == ()


def test_it_plans_without_what_never_dries_and_says_so():
    tasks = [
        task("base", 30),
        task("clear", 30, Wait("base", never, "the base")),
        task("coat", 30, after("clear", 12)),
        task("fret", 30, project="tram"),
    ]
    plan = planned(tasks, projects=[due("boat", 100), due("tram", 100)])
    assert left_out(plan) == {
        "clear": "‘clear’ is left out: the base never dries in this room.",
        "coat": "‘coat’ comes after ‘clear’, not planned.",
    }
    assert set(starts(plan)) == {"base", "fret"}
    assert {end.project.id: end.end is None for end in plan.ends} == {"boat": True, "tram": False}


def test_it_names_a_running_wait_that_never_ends():
    plan = planned([task("clear", 30, Wait(None, never, "the base"))])
    assert left_out(plan) == {"clear": "‘clear’ is left out: the base never dries in this room."}


def test_it_gives_no_end_to_a_project_whose_last_layer_never_dries():
    plan = planned(
        [task("coat", 30, dries=Wait(ready=never)), task("fret", 30, project="tram")],
        projects=[due("boat", 1)],
    )
    assert set(starts(plan)) == {"coat", "fret"}
    assert {end.project.id: end.end is None for end in plan.ends} == {"boat": True, "tram": False}
    assert plan.notes == (
        "‘coat’ is planned, but never dries in this room: its project has no end.",
    )
    assert plan.objective <= 120


def test_it_says_what_finds_no_bench_time():
    plan = planned([task("one", 120), task("two", 120)], sessions=[evening(0)])
    (words,) = left_out(plan).values()
    assert words.endswith("finds no bench time before Mon 22:00, when the last session ends.")


def test_it_says_that_tasks_wait_for_each_other():
    plan = planned([task("one", 30, after("two")), task("two", 30, after("one")), task("cut")])
    assert left_out(plan) == {
        "one": "‘one’ waits for itself, through other tasks.",
        "two": "‘two’ waits for itself, through other tasks.",
    }
    assert list(starts(plan)) == ["cut"]


def test_it_says_that_a_task_waits_for_one_unknown():
    plan = planned([task("lay", 30, after("nothing"))])
    assert left_out(plan) == {"lay": "‘lay’ waits for a task that is not in the plan."}


def test_it_plans_nothing_when_there_is_nothing():
    plan = planned([])
    assert (plan.tasks, plan.ends, plan.notes, plan.objective) == ((), (), (), 0)


def test_it_plans_a_hundred_projects():
    given = made_up_plan(1, 100)
    before = process_time()
    plan = make_plan(given, iterations=50)
    assert process_time() - before < 10  # a wide margin over the benchmark's first plan
    assert len(given.tasks) == 1000
    assert faults(given, plan) == []
    assert not plan.unplanned


def test_it_rejects_two_tasks_of_one_id():
    with pytest.raises(ValueError, match="same id"):
        make_plan(plan_input([task("cut"), task("cut")]))


def test_it_rejects_a_moment_without_a_zone():
    with pytest.raises(ValueError, match="must carry its zone"):
        make_plan(PlanInput(datetime(2026, 3, 2), (), (), ()))


def test_it_rejects_sessions_without_zone_or_length():
    with pytest.raises(ValueError, match="must carry their zone"):
        Session("Ada", datetime(2026, 3, 2), datetime(2026, 3, 3))
    with pytest.raises(ValueError, match="must end after its start"):
        Session("Ada", MONDAY, MONDAY)


@pytest.mark.parametrize("name", ["setup_minutes", "cleaning_minutes"])
def test_it_rejects_a_negative_airbrush_time(name):
    with pytest.raises(ValueError, match=f"{name} must be 0 or more, not -1"):
        make_plan(plan_input([task("cut")], **{name: -1}))


def test_it_rejects_work_of_no_length():
    with pytest.raises(ValueError, match="must be at least 1, not 0"):
        Task("cut", "boat", "cut", 0)


@pytest.mark.parametrize("weight", [-1.0, float("inf"), float("nan")])
def test_it_rejects_a_weight_that_is_none(weight):
    with pytest.raises(ValueError, match="must be 0 or more"):
        Project("boat", weight=weight)


def test_it_rejects_a_negative_budget():
    given = plan_input([task("cut")])
    with pytest.raises(ValueError, match="seconds must be 0 or more"):
        make_plan(given, seconds=-1)
    with pytest.raises(ValueError, match="iterations must be 0 or more"):
        make_plan(given, iterations=-1)


def test_a_fixed_wait_lasts_across_a_clock_change():
    # 12 h from 2026-10-24 20:00 in London end at 07:00, added in UTC.
    start = datetime(2026, 10, 24, 19, tzinfo=UTC)
    assert FixedWait(12 * HOUR)(start) == start + timedelta(hours=12)
