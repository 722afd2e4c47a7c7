"""The plan behind the page: made, kept, out of date when something changed, and failing well."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from decaljobs.craft.stages import Build, Stage
from decaljobs.models import BenchPlan, Room, StepMinutes, WaitRule
from decaljobs.services.bench import steps
from decaljobs.services.plan import benchhours, planpins, plans
from decaljobs.services.projects import projects
from tests.factories import EVENING, make_decal, make_project, sealed_decal

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("in_the_evening")]
HOUR = timedelta(hours=1)


def made(iterations=20):
    plans.make_now(moment=EVENING, iterations=iterations)
    return BenchPlan.objects.made().first()


def changed(moment=EVENING):
    return list(plans.standing(moment=moment).changed)


def placed(found):
    return {task["id"]: task for session in found["sessions"] for task in session["tasks"]}


def test_it_keeps_sessions_tasks_and_ends(maker):
    decal = sealed_decal(maker, project=make_project(due=EVENING.date() + timedelta(days=1)))
    found = made().found
    assert set(placed(found)) == {f"base:{decal.pk}", f"clear:{decal.pk}"}
    base = placed(found)[f"base:{decal.pk}"]
    assert (base["decals"], base["works"]) == ([decal.pk], [f"base:{decal.pk}"])
    assert base["project_name"] == decal.project.name
    (end,) = found["ends"]
    # Base tonight, clear tomorrow evening, set by Wednesday morning: a day late.
    assert end["late_days"] == 1


def test_it_says_what_slips_if_the_next_session_is_missed(maker):
    sealed_decal(maker)
    slips = made().found["slips"]["mara"]
    assert slips["start"] == EVENING.isoformat()
    assert len(slips["slips"]) == 1


def test_nothing_has_changed_right_after(maker):
    sealed_decal(maker)
    made()
    now = plans.standing(moment=EVENING)
    assert (now.changed, now.is_stale, now.running) == ((), False, False)


CHANGES = {
    "something was logged": lambda decal, maker: steps.log_step(
        decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING
    ),
    "decals were added, changed or dropped": lambda decal, maker: make_decal(Build.WHITE_ALONE),
    "a project or its due date was changed": lambda decal, maker: projects.change_project(
        project=decal.project, due=EVENING.date()
    ),
    "a drying rule was changed": lambda decal, maker: WaitRule.objects.update(floor_hours=0),
    "a room or its readings were changed": lambda decal, maker: Room.objects.update(air_mark="x"),
    "bench hours were changed": lambda decal, maker: benchhours.keep_week(person=maker, week=[]),
    "minutes of work were changed": lambda decal, maker: StepMinutes.objects.create(
        doing="base", minutes=9
    ),
    "a task was pinned or let go": lambda decal, maker: planpins.pin_work(
        works=["base:1"], person=maker, start=EVENING, end=EVENING + HOUR, moment=EVENING
    ),
}


@pytest.mark.parametrize("words", CHANGES)
def test_it_says_what_has_changed_since(maker, words):
    decal = sealed_decal(maker)
    made()
    CHANGES[words](decal, maker)
    assert words in changed()


def test_a_place_of_another_name_stands_in_the_next_plan(maker):
    decal = sealed_decal(maker)
    made()
    same = {"artwork": decal.artwork, "build": Build(decal.build), "note": ""}
    projects.change_decal(decal=decal.pk, place="Funnel", **same)
    assert changed() == ["decals were added, changed or dropped"]


def test_a_note_on_a_project_changes_no_plan(maker):
    decal = sealed_decal(maker)
    made()
    projects.change_project(project=decal.project, notes="varnish is in the cupboard")
    assert changed() == []


def test_a_task_whose_time_has_passed_makes_it_out_of_date(maker):
    sealed_decal(maker)
    made()
    assert changed(EVENING + timedelta(minutes=29)) == []
    assert changed(EVENING + HOUR / 2) == ["the time of a planned task has passed"]


def test_it_is_made_behind_the_page(maker, settings, monkeypatch):
    settings.WORK_BEHIND = "page"
    monkeypatch.setattr(plans, "MOST_SECONDS", 0.05)
    sealed_decal(maker)
    assert plans.begin_if_stale(moment=EVENING)
    assert BenchPlan.objects.get().state == "made"
    assert not plans.begin_if_stale(moment=EVENING)


def test_two_are_never_made_at_a_time(maker):
    assert plans.begin(moment=EVENING) is not None
    assert plans.begin(moment=EVENING) is None
    assert plans.standing(moment=EVENING).running
    with pytest.raises(IntegrityError), transaction.atomic():
        BenchPlan.objects.create(moment=EVENING, beat_at=EVENING)


def test_one_whose_process_is_gone_is_given_up(maker):
    plans.begin(moment=EVENING)
    later = EVENING + timedelta(minutes=2)
    assert not plans.standing(moment=later).running
    assert plans.begin(moment=later) is not None
    assert [plan.state for plan in BenchPlan.objects.all()] == ["running", "failed"]


def test_a_plan_that_breaks_off_says_so_and_keeps_the_one_before(maker, monkeypatch):
    before = made()
    begun = plans.begin(moment=EVENING)

    def broken(**_):
        raise RuntimeError("no")

    monkeypatch.setattr(plans, "gather", broken)
    with pytest.raises(RuntimeError):
        plans.run(begun.pk)
    now = plans.standing(moment=EVENING)
    assert now.plan == before
    assert now.problem.startswith("The planning broke off.")


def test_running_it_twice_does_no_harm(maker):
    begun = plans.begin(moment=EVENING)
    plans.run(begun.pk)
    first = BenchPlan.objects.get().made_at
    plans.run(begun.pk)
    assert BenchPlan.objects.get().made_at == first


def test_only_the_newest_are_kept(maker):
    for number in range(5):
        begun = plans.begin(moment=EVENING + timedelta(hours=number))
        plans.run(begun.pk)
    assert BenchPlan.objects.count() == plans.KEPT


def test_the_next_plan_begins_with_the_one_before(maker, monkeypatch):
    sealed_decal(maker)
    before = made()
    given = []
    real = plans.searched

    def watched(*args, **options):
        given.append(options["start_from"])
        return real(*args, **options)

    monkeypatch.setattr(plans, "searched", watched)
    made()
    assert list(given[0].order) == before.found["order"]


def test_the_time_given_to_it_is_bounded(maker):
    sealed_decal(maker)
    work = plans.gather(moment=EVENING)
    assert plans.seconds_for(work.input) == pytest.approx(0.06)
    assert plans.MOST_SECONDS == 5


def test_no_bench_hours_at_all_are_said(maker):
    sealed_decal(maker)
    benchhours.keep_week(person=maker, week=[])
    found = made().found
    assert found["notes"] == ["There are no bench hours to plan for."]
    assert len(found["unplanned"]) == 2


def test_a_session_shorter_than_the_shortest_task_is_said_with_the_task(maker):
    decal = sealed_decal(maker)
    benchhours.keep_week(person=maker, week=[])
    late = EVENING.replace(hour=19).time(), EVENING.replace(hour=19, minute=10).time()
    benchhours.add_day(person=maker, day=EVENING.date(), starts=late[0], ends=late[1])
    left = [row["words"] for row in made().found["unplanned"]]
    assert left[0] == (f"‘base layer: {decal.place}’ takes 15 min; the longest session has 10 min.")


def begun_in_the_meantime(monkeypatch, maker, change):
    """What stands in the queue after a plan during whose making something else was done."""
    real = plans.gather

    def gathered(**options):
        work = real(**options)
        change()
        return work

    begun = plans.begin(moment=EVENING)
    monkeypatch.setattr(plans, "gather", gathered)
    plans.run(begun.pk)
    return [plan.state for plan in BenchPlan.objects.all()]


def test_what_changes_while_it_is_made_is_followed_by_the_worker(maker, monkeypatch, settings):
    made()
    settings.WORK_BEHIND = "worker"
    states = begun_in_the_meantime(monkeypatch, maker, lambda: sealed_decal(maker))
    assert states == ["running", "made", "made"]


def test_a_plan_during_which_nothing_changed_is_the_last(maker, monkeypatch, settings):
    made()
    settings.WORK_BEHIND = "worker"
    assert begun_in_the_meantime(monkeypatch, maker, lambda: None) == ["made", "made"]
