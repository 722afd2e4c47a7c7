"""The plan as a whole: times, airbrush, pins, shared work, and that it repeats itself."""

from datetime import timedelta

import pytest

from decaljobs.craft.benchplan import make_plan
from decaljobs.craft.plan.tasks import FixedWait, Wait, Work
from tests.benchmarks.made_up_plans import made_up_plan
from tests.benchmarks.plan_checks import faults
from tests.craft.plans import (
    HOUR,
    MINUTE,
    MONDAY,
    after,
    due,
    evening,
    plan_input,
    starts,
    task,
    week,
)


def planned(tasks, iterations=200, **more):
    given = plan_input(tasks, **more)
    plan = make_plan(given, iterations=iterations)
    assert faults(given, plan) == []
    return plan


def test_it_fills_a_wait_with_another_models_work():
    plan = planned(
        [
            task("base", 30),
            task("clear", 30, after("base", 1)),
            task("fret", 60, project="tram"),
        ]
    )
    assert starts(plan) == {"base": "0 19:00", "fret": "0 19:30", "clear": "0 20:30"}


def test_it_waits_for_a_layer_over_night():
    plan = planned([task("base", 30), task("clear", 30, after("base", 12))])
    assert starts(plan) == {"base": "0 19:00", "clear": "1 19:00"}


def test_it_asks_the_wait_from_the_moment_it_begins():
    def slower_by_night(start):
        return start + (24 if start.hour >= 20 else 1) * HOUR

    wait = Wait("base", slower_by_night, "the base")
    early = planned([task("base", 30), task("clear", 30, wait)])
    late = planned([task("base", 60), task("clear", 30, wait)])
    assert starts(early)["clear"] == "0 20:30"
    assert starts(late)["clear"] == "1 20:00"


def test_it_never_interrupts_a_task():
    plan = planned([task("one", 100), task("two", 100)])
    assert sorted(starts(plan).values()) == ["0 19:00", "1 19:00"]


def test_it_does_the_urgent_and_the_weighty_first():
    tasks = [task("one", 180), task("two", 180, project="tram")]
    urgent = planned(tasks, projects=[due("boat", 100), due("tram", 5)])
    weighty = planned(tasks, projects=[due("boat", 5), due("tram", 5, weight=3)])
    assert starts(urgent)["two"] == starts(weighty)["two"] == "0 19:00"


def test_it_sets_the_airbrush_up_once_for_all_coats_of_an_evening():
    plan = planned(
        [task("seal", 30, airbrush=True), task("coat", 30, project="tram", airbrush=True)]
    )
    assert [(block.work, f"{block.start:%H:%M}") for block in plan.airbrush] == [
        (Work.AIRBRUSH_SETUP, "19:00"),
        (Work.AIRBRUSH_CLEANING, "20:15"),
    ]


def test_it_cleans_the_airbrush_after_the_last_task_of_the_session():
    plan = planned([task("seal", 30, airbrush=True), task("cut", 60)])
    assert plan.airbrush[-1].end == max(placed.end for placed in plan.tasks) + 15 * MINUTE


def test_it_takes_the_set_up_and_cleaning_that_are_asked_for():
    plan = planned([task("seal", 30, airbrush=True)], setup_minutes=20, cleaning_minutes=0)
    assert starts(plan) == {"seal": "0 19:20"}
    assert [block.end - block.start for block in plan.airbrush] == [20 * MINUTE, 0 * MINUTE]


def test_it_waits_with_one_coat_to_set_the_airbrush_up_less_often():
    coats = [
        task("first", 10, airbrush=True),
        task("other", 10, after("cut", 12), project="tram", airbrush=True),
        task("cut", 10, project="tram"),
        task("last", 10, after("other", 12), project="tram"),
    ]
    plan = planned(coats, iterations=600)
    assert len(plan.airbrush) == 2
    assert starts(plan)["first"] in ("1 19:15", "1 19:25")


def test_it_seals_a_shared_sheet_once_for_both_projects():
    tasks = [
        task("seal", 30, also_for=("tram",)),
        task("boat base", 30, after("seal", 12)),
        task("tram base", 30, after("seal", 12), project="tram"),
    ]
    plan = planned(tasks, projects=[due("boat", 30), due("tram", 30)])
    assert starts(plan)["seal"] == "0 19:00"
    assert {end.project.id: f"{end.end:%d}" for end in plan.ends} == {"boat": "03", "tram": "03"}


def test_it_gives_each_maker_their_own_work():
    sessions = [evening(maker="Ada"), evening(maker="Ben")]
    plan = planned(
        [task("one", 120), task("two", 120), task("three", 30, makers=("Ben",))], sessions=sessions
    )
    makers = {placed.task.id: placed.session.maker for placed in plan.tasks}
    assert makers["three"] == "Ben"
    assert {makers["one"], makers["two"]} == {"Ada", "Ben"}


def test_it_ends_a_project_when_its_last_layer_is_dry():
    dries = Wait(ready=FixedWait(10 * HOUR), words="the overcoat")
    plan = planned([task("coat", 30, dries=dries)], projects=[due("boat", 2)])
    (end,) = plan.ends
    assert end.end == MONDAY + 11.5 * HOUR
    assert end.late_minutes == 9.5 * 60


def test_it_rounds_lateness_up_to_whole_minutes():
    plan = planned([task("coat", 30)], projects=[due("boat", 1.495)])
    assert plan.ends[0].late_minutes == 1
    assert plan.objective == 20 * 1 + 90


def test_it_begins_within_a_session_that_runs():
    plan = planned([task("cut", 30)], moment=MONDAY + 2 * HOUR)
    assert starts(plan) == {"cut": "0 20:00"}


def test_it_uses_a_session_to_its_last_minute_though_planned_between_two_minutes():
    plan = planned([task("cut", 180)], moment=MONDAY + timedelta(seconds=23, microseconds=5))
    assert starts(plan) == {"cut": "0 19:00"}
    assert plan.made == MONDAY + timedelta(seconds=23, microseconds=5)
    assert plan.tasks[0].end == MONDAY + 4 * HOUR


def test_it_waits_for_a_layer_that_dries_already():
    running = Wait(ready=lambda start: start + 3 * HOUR, words="the base")
    assert starts(planned([task("clear", 30, running)])) == {"clear": "0 21:00"}


def test_it_keeps_a_task_in_the_session_it_is_pinned_to():
    tasks = [task("cut", 30, pinned_session=evening(2)), task("coat", 30, after("cut", 1))]
    assert starts(planned(tasks)) == {"cut": "2 19:00", "coat": "2 20:30"}


def test_it_keeps_a_task_at_the_moment_it_is_pinned_to():
    tasks = [task("cut", 30, pinned_start=MONDAY + 2 * HOUR), *(task(f"{n}", 50) for n in range(3))]
    assert starts(planned(tasks))["cut"] == "0 20:00"


def test_it_keeps_a_pin_in_a_session_that_was_shortened():
    pinned = task("cut", 30, pinned_session=evening(1, 19, 22))
    plan = planned([pinned], sessions=[evening(0), evening(1, 19.5, 21)])
    assert starts(plan) == {"cut": "1 19:30"}
    assert plan.notes == ()


def test_it_plans_freely_and_says_so_if_the_session_of_a_pin_is_gone():
    plan = planned([task("cut", 30, pinned_session=evening(1))], sessions=[evening(0), evening(2)])
    assert starts(plan) == {"cut": "0 19:00"}
    assert plan.notes == (
        "‘cut’ is pinned to Tue 19:00, when there is no session any more; it is planned freely.",
    )


def test_it_plans_freely_and_says_so_if_a_pinned_moment_lies_outside_every_session():
    plan = planned([task("cut", 30, pinned_start=MONDAY + 3.75 * HOUR)])
    assert starts(plan) == {"cut": "0 19:00"}
    assert "‘cut’ is pinned to Mon 21:45, outside every session" in plan.notes[0]


def test_it_says_which_pin_cannot_be_kept():
    tasks = [task("cut", 60), task("coat", 30, after("cut", 1), pinned_start=MONDAY + 1.5 * HOUR)]
    plan = planned(tasks)
    assert starts(plan)["coat"] == "0 21:00"
    assert plan.notes == ("‘coat’ cannot keep its pin: the layer dries until Mon 21:00.",)


def test_it_repeats_itself_with_the_same_tries():
    given = made_up_plan(3, 4, 8, 1.0)
    plans = [make_plan(given, iterations=800) for _ in range(2)]
    assert plans[0] == plans[1]
    assert plans[0].tries >= 800


def test_another_seed_searches_elsewhere():
    given = made_up_plan(3, 6, 10, 1.0)
    orders = {make_plan(given, iterations=300, seed=seed).order for seed in (1, 2, 3)}
    assert len(orders) > 1


def test_it_improves_on_the_first_plan():
    given = made_up_plan(2, 6, 10, 1.0)
    first = make_plan(given, iterations=0)
    better = make_plan(given, iterations=3000)
    assert first.objective == first.first_objective == better.first_objective
    assert better.objective < 0.9 * first.objective
    assert faults(given, first) == faults(given, better) == []


def test_it_begins_with_an_earlier_plan():
    given = made_up_plan(2, 6, 10, 1.0)
    better = make_plan(given, iterations=3000)
    again = make_plan(given, iterations=0, start_from=better)
    assert again.objective <= better.objective < again.first_objective


def test_it_begins_with_an_earlier_plan_though_the_work_has_changed():
    given = made_up_plan(5, 3, 8)
    earlier = make_plan(given, iterations=500)
    done = {"p0-print", "p1-print"}
    tasks = [
        task("new", 25, project="p9"),
        *(
            task(t.id, t.minutes, *(w for w in t.waits if w.after not in done), project=t.project)
            for t in given.tasks
            if t.id not in done
        ),
    ]
    changed = plan_input(tasks, given.sessions, given.projects, given.moment)
    plan = make_plan(changed, iterations=100, start_from=earlier)
    assert faults(changed, plan) == []
    assert not plan.unplanned


def test_it_stops_when_the_clock_says_so():
    ticks = iter(range(1000))
    plan = make_plan(made_up_plan(1, 3), seconds=50, clock=lambda: float(next(ticks)))
    assert 0 < plan.tries < 1000 * 100
    assert next(ticks) == pytest.approx(51, abs=2)


def test_it_lists_the_tasks_of_one_session_in_order():
    tasks = [task("one", 60, after("two")), task("two", 30), task("three", 180)]
    plan = planned(tasks, projects=[due("boat", 3)], sessions=week(5))
    both, three = sorted((plan.in_session(evening(day)) for day in (0, 1)), key=len, reverse=True)
    assert [placed.task.id for placed in both] == ["two", "one"]
    assert [placed.task.id for placed in three] == ["three"]
    assert plan.in_session(evening(5)) == ()
