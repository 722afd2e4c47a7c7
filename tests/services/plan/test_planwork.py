"""The work left, gathered from records that were made through the services."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from decaljobs.craft.benchplan import make_plan
from decaljobs.craft.stages import Build, Film, Stage
from decaljobs.models import Decal, Person, PlanPin, Room
from decaljobs.services.bench import spoiling, steps
from decaljobs.services.film import sheets
from decaljobs.services.plan import planpins, walking
from decaljobs.services.plan.planstore import to_plain
from decaljobs.services.plan.planwork import gather
from tests.factories import (
    EVENING,
    make_decal,
    make_decals,
    make_project,
    make_sheet,
    sealed_decal,
    sealed_sheet,
)

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


def tasks(moment=EVENING):
    return {job.task.id: job.task for job in gather(moment=moment).jobs}


def over(task, place=0):
    return task.waits[place].ready(EVENING)


def test_a_planned_decal_wants_both_films_printed_and_sealed_first(maker):
    decal = make_decal()
    found = tasks()
    assert list(found) == [
        "print:next-white",
        *(f"coat:next-white:{n}" for n in (1, 2, 3, 4)),
        "print:next-clear",
        *(f"coat:next-clear:{n}" for n in (1, 2, 3, 4)),
        f"base:{decal.pk}",
        f"clear:{decal.pk}",
    ]


def test_the_next_sheet_is_taken_to_be_like_the_last_of_its_film(maker):
    make_sheet(Film.WHITE, coats_wanted=1, printer="laser", sealer="solvent")
    make_decal(Build.WHITE_ALONE)
    assert [name for name in tasks() if name.startswith("coat")] == ["coat:next-white:1"]


def test_a_filled_sheet_stands_in_place_of_the_next_one(maker):
    decal = make_decal(Build.WHITE_ALONE)
    sheet = make_sheet(Film.WHITE)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=2)
    expected = [
        f"print:{sheet.pk}",
        f"coat:{sheet.pk}:1",
        f"coat:{sheet.pk}:2",
        f"base:{decal.pk}",
    ]
    assert list(tasks()) == expected
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING)
    found = tasks()
    assert list(found) == expected[1:]
    sheet.refresh_from_db()
    assert over(found[f"coat:{sheet.pk}:1"]) == sheet.rested_at


def test_a_sealed_decal_wants_its_layers_by_the_drying_clock(maker):
    decal = sealed_decal(maker)
    base, clear = tasks().values()
    assert (base.id, clear.id) == (f"base:{decal.pk}", f"clear:{decal.pk}")
    assert over(base) == EVENING  # the sheets have been dry for long
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    decal.refresh_from_db()
    # What the plan expected of a base laid now is what the log then said.
    assert clear.waits[0].ready(EVENING) == decal.turns_at
    (left,) = tasks().values()
    assert over(left) == decal.turns_at


def test_the_overcoat_waits_as_the_log_will_say(maker):
    project = make_project(overcoat=True)
    decal = sealed_decal(maker, Build.WHITE_ALONE, project=project)
    _, coat = tasks().values()
    assert coat.id == f"overcoat:{project.code}"
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    decal.refresh_from_db()
    assert coat.waits[0].ready(EVENING) == decal.ready_at
    (left,) = tasks().values()
    assert over(left) == decal.ready_at


def test_a_decal_that_only_dries_has_no_task_but_an_end(maker):
    decal = sealed_decal(maker, Build.WHITE_ALONE)
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    decal.refresh_from_db()
    work = gather(moment=EVENING)
    assert work.jobs == ()
    assert work.dry_at == {decal.project.code: decal.ready_at}


def test_a_spoiled_last_piece_wants_the_next_sheet(maker):
    decal = sealed_decal(maker, Build.CLEAR_ALONE)
    for piece in decal.pieces.good():
        spoiling.spoil_piece(piece=piece.pk, by=maker, moment=EVENING, reason="torn")
    assert "print:next-clear" in tasks()


def test_in_a_cold_room_it_is_left_out_with_a_sentence(maker):
    decal = sealed_decal(maker)
    Room.objects.update(
        day_temperature=4, night_temperature=4, day_humidity=60, night_humidity=60, air_mark="cold"
    )
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    plan = make_plan(gather(moment=EVENING).input, iterations=5)
    (left,) = plan.unplanned
    assert left.words.endswith("is left out: the base layer never dries in this room.")


def test_what_is_left_out_bears_its_project_s_name(maker):
    sealed_decal(maker, project=make_project(name="Tug", code="T-9", overcoat=True))
    work = gather(moment=EVENING)
    assert "overcoat of Tug" in {task.words for task in work.input.tasks}
    plan = make_plan(replace(work.input, sessions=()), iterations=5)
    assert {left["name"] for left in to_plain(plan, work, {})["unplanned"]} == {"Tug"}


def test_a_due_date_ends_with_its_day_and_weighs_as_it_was_set(maker):
    make_decal(project=make_project(due=date(2026, 11, 20), weight=3))
    (project,) = gather(moment=EVENING).input.projects
    assert project.due == datetime(2026, 11, 20, 23, 59, tzinfo=UTC)
    assert project.weight == 3


def test_a_project_that_was_put_away_has_no_work(maker):
    for name in ("archived_at", "binned_at"):
        project = make_decal(project=make_project(name=name)).project
        setattr(project, name, EVENING)
        project.save()
    assert tasks() == {}


def test_pins_hold_in_the_session_they_name(maker):
    decal = sealed_decal(maker)
    start = EVENING + timedelta(days=2)
    planpins.pin_work(
        works=[f"base:{decal.pk}"], person=maker, start=start, end=start + 3 * HOUR, moment=EVENING
    )
    plan = make_plan(gather(moment=EVENING).input, iterations=5)
    assert [(p.task.id, p.session.start) for p in plan.tasks if p.task.pinned_session] == [
        (f"base:{decal.pk}", start)
    ]
    assert planpins.let_go(works=[f"base:{decal.pk}"]) == 1
    assert not PlanPin.objects.exists()


def test_onlookers_and_those_who_left_have_no_sessions(maker, onlooker):
    make_decal()
    assert {session.maker for session in gather(moment=EVENING).input.sessions} == {"mara"}
    Person.objects.update(is_active=False)
    assert gather(moment=EVENING).input.sessions == ()


def test_several_makers_share_the_work(maker, owner):
    for number in range(6):
        sealed_decal(maker, Build.CLEAR_ALONE, project=make_project(name=f"Model {number}"))
    plan = make_plan(gather(moment=EVENING).input, iterations=300)
    assert {placed.session.maker for placed in plan.tasks} == {"mara", "olle"}


def test_it_looks_as_far_ahead_as_the_work_needs(maker):
    def weeks():
        sessions = gather(moment=EVENING).input.sessions
        return (sessions[-1].end - EVENING) / timedelta(weeks=1)

    assert 3 < weeks() <= 4
    decals = make_decals(200, Build.CLEAR_ALONE)
    sealed_sheet(Film.CLEAR, decals, maker, copies=1)
    # 200 of 15 min are 50 h, with what is lost 75 h: not quite four weeks of 19 h
    assert 3 < weeks() <= 4
    make_decals(200, Build.CLEAR_ALONE)
    assert weeks() > 6


def test_the_number_of_queries_does_not_grow_with_the_work(maker, django_assert_max_num_queries):
    project = make_project()
    decals = [d for n in range(3) for d in make_decals(5, project=project, place=f"Place {n}")]
    sealed_sheet(Film.WHITE, decals, maker, copies=1)
    sealed_sheet(Film.CLEAR, decals, maker, copies=1)
    with django_assert_max_num_queries(11):
        work = gather(moment=EVENING)
    assert work.jobs


def test_the_plan_can_be_followed_step_by_step_to_the_end(maker, owner):
    """Whatever is planned can be logged at its planned time: nothing is refused as too early."""
    project = make_project(overcoat=True)
    sheet = make_sheet(Film.WHITE)
    laid = make_decals(3, project=project)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[d.pk for d in laid], copies=1)
    clear = make_sheet(Film.CLEAR, coats_wanted=1)
    sheets.put_on_sheet(sheet=clear.pk, decals=[d.pk for d in laid], copies=1)
    sealed_decal(maker, Build.CLEAR_ALONE)
    work = gather(moment=EVENING)
    plan = make_plan(work.input, iterations=100)
    assert not plan.unplanned
    jobs = {job.task.id: job for job in work.jobs}
    for placed in plan.tasks:
        job = jobs[placed.task.id]
        task = {
            "doing": job.doing.value,
            "decals": list(job.decals),
            "sheet": job.sheet,
            "coat": job.coat,
        }
        walking.log_task(task=task, decals=list(job.decals), by=maker, moment=placed.end)
    end = max(end.end for end in plan.ends)
    assert gather(moment=end + HOUR).jobs == ()
    assert Decal.objects.counts(end + HOUR)["finished"] == 4
    assert Decal.objects.counts(end - HOUR)["finished"] < 4
