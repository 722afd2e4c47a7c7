"""Walking through a session: every kind of task logged, refused and taken back."""

from datetime import timedelta

import pytest

from decaljobs.craft.stages import Build, Film
from decaljobs.models import Decal, PieceState, Sheet
from decaljobs.services.bench import spoiling
from decaljobs.services.film import offcuts, sheets
from decaljobs.services.film.offcuts import Side
from decaljobs.services.plan import walking
from decaljobs.services.plan.planwork import gather
from decaljobs.services.refused import Overtaken, Refused, TooEarly
from tests.factories import EVENING, make_decal, make_project, make_sheet, sealed_decal

pytestmark = pytest.mark.django_db


def task(name, moment=EVENING):
    """A planned task in the plain values that the plan keeps."""
    job = next(job for job in gather(moment=moment).jobs if job.task.id == name)
    return {
        "id": name,
        "doing": job.doing.value,
        "decals": list(job.decals),
        "sheet": job.sheet,
        "coat": job.coat,
    }


def walk(name, by, **fields):
    wanted = fields.pop("task", None) or task(name)
    start = {"decals": wanted["decals"], "by": by, "moment": EVENING}
    return wanted, walking.log_task(task=wanted, **{**start, **fields})


def filled_sheet(*decals):
    sheet = make_sheet(Film.WHITE)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[d.pk for d in decals], copies=1)
    return sheet


def test_it_logs_a_layer_on_all_of_its_decals_and_takes_it_back(maker):
    project = make_project()
    decals = [sealed_decal(maker, Build.WHITE_ALONE, project=project) for _ in range(2)]
    # Each has a sheet of its own here, so that each is a lot of its own.
    for decal in decals:
        wanted, logged = walk(f"base:{decal.pk}", maker)
        decal.refresh_from_db()
        assert decal.stage == "base_applied"
        walking.undo_task(task=wanted, logged=logged, by=maker, moment=EVENING)
        decal.refresh_from_db()
        assert decal.stage == "sealed"
        assert decal.pieces.filter(state=PieceState.GOOD).count() == 2


def test_only_the_ticked_decals_of_the_task_are_logged(maker):
    one, other = (sealed_decal(maker, Build.WHITE_ALONE) for _ in range(2))
    wanted = {**task(f"base:{one.pk}"), "decals": [one.pk, other.pk]}
    walk("", maker, task=wanted, decals=[other.pk, 4242])
    assert list(Decal.objects.filter(stage="base_applied")) == [other]


def test_nothing_ticked_is_refused_kindly(maker):
    decal = sealed_decal(maker, Build.WHITE_ALONE)
    with pytest.raises(Refused, match="Tick at least one decal, or skip the task."):
        walk(f"base:{decal.pk}", maker, decals=[])


def test_it_prints_and_coats_a_sheet_and_takes_both_back(maker):
    sheet = filled_sheet(make_decal(Build.WHITE_ALONE))
    printing, printed = walk(f"print:{sheet.pk}", maker)
    sheet.refresh_from_db()
    assert sheet.is_printed
    coat = task(f"coat:{sheet.pk}:1")
    later = EVENING + timedelta(hours=13)
    _, coated = walk("", maker, task=coat, moment=later)
    sheet.refresh_from_db()
    assert sheet.coats_done == 1
    walking.undo_task(task=coat, logged=coated, by=maker, moment=later)
    sheet.refresh_from_db()
    assert sheet.coats_done == 0
    with pytest.raises(Overtaken):
        walking.undo_task(task=printing, logged=printed, by=maker, moment=later)


def test_a_coat_before_its_time_is_refused_unless_the_maker_says_why(maker):
    sheet = filled_sheet(make_decal(Build.WHITE_ALONE))
    walk(f"print:{sheet.pk}", maker)
    coat = task(f"coat:{sheet.pk}:1")
    with pytest.raises(TooEarly):
        walk("", maker, task=coat)
    walk("", maker, task=coat, reason="dried under the lamp")
    sheet.refresh_from_db()
    assert sheet.coats_done == 1


def test_a_coat_that_is_on_already_is_not_logged_as_the_next(maker):
    sheet = filled_sheet(make_decal(Build.WHITE_ALONE))
    walk(f"print:{sheet.pk}", maker)
    coat = task(f"coat:{sheet.pk}:1")
    later = EVENING + timedelta(hours=13)
    walk("", maker, task=coat, moment=later)
    with pytest.raises(Overtaken, match="1 of 2 coats are on"):
        walk("", maker, task=coat, moment=later + timedelta(hours=1))
    sheet.refresh_from_db()
    assert sheet.coats_done == 1


def test_a_sheet_still_to_be_filled_is_laid_out_first(maker):
    make_decal(Build.WHITE_ALONE)
    with pytest.raises(Refused, match="lay it out first"):
        walk("print:next-white", maker)


def test_undoing_after_somebody_went_on_is_refused_and_changes_nothing(maker, owner):
    decal = sealed_decal(maker, Build.WHITE_ALONE)
    wanted, logged = walk(f"base:{decal.pk}", maker)
    spoiling.spoil_layer(decal=decal.pk, layer="base", by=owner, moment=EVENING, reason="slid")
    with pytest.raises(Overtaken):
        walking.undo_task(task=wanted, logged=logged, by=maker, moment=EVENING)
    decal.refresh_from_db()
    assert decal.clean_surface


def on_next(film: str) -> dict:
    return {"id": f"print:next-{film}", "sheet": f"next-{film}", "words": f"the next {film} sheet"}


def test_the_next_sheet_is_the_first_of_its_film_that_was_laid_out_since(maker):
    earlier, lost, empty, white, later, clear = [
        make_sheet(film, moment=EVENING + timedelta(minutes=minutes))
        for film, minutes in [
            ("white", -1),
            ("white", 1),
            ("white", 2),
            ("white", 3),
            ("white", 4),
            ("clear", 5),
        ]
    ]
    for sheet in (earlier, lost, white, later, clear):
        build = Build.WHITE_ALONE if sheet.film == "white" else Build.CLEAR_ALONE
        sheets.put_on_sheet(sheet=sheet.pk, decals=[make_decal(build).pk], copies=1)
    Sheet.objects.filter(pk=lost.pk).update(lost_at=EVENING)
    tasks = [on_next("white"), on_next("clear"), on_next("white") | {"sheet": str(earlier.pk)}]
    found = walking.on_filled_sheets(tasks, since=EVENING)
    assert [task["sheet"] for task in found] == [str(s.pk) for s in (white, clear, earlier)]
    assert [task["words"] for task in found[:2]] == [f"sheet {s.code}" for s in (white, clear)]
    assert found[2] == tasks[2]
    (left,) = walking.on_filled_sheets(tasks[1:2], since=EVENING + timedelta(minutes=6))
    assert left == tasks[1]


def offcut_of(sheet, maker, at_mm=150):
    when = EVENING - timedelta(hours=1)
    return offcuts.cut_off(sheet=sheet.pk, side=Side.FOOT, at_mm=at_mm, by=maker, moment=when)


def test_the_next_sheet_may_have_been_laid_out_on_offcuts_alone(maker):
    whole = make_sheet(Film.WHITE, moment=EVENING - timedelta(days=1))
    filled, empty, filled_before = (offcut_of(whole, maker, at) for at in (250, 200, 150))
    decal = make_decal(Build.WHITE_ALONE)
    sheets.put_on_sheet(sheet=filled_before.pk, decals=[decal.pk], copies=1)
    work = gather(moment=EVENING)
    assert work.offcuts == ()  # nothing is left for a next sheet
    make_decal(Build.WHITE_ALONE)
    work = gather(moment=EVENING)
    assert set(work.offcuts) == {filled.pk, empty.pk}
    asked = {"since": EVENING, "offcuts": work.offcuts}
    assert walking.on_filled_sheets([on_next("white")], **asked) == [on_next("white")]
    sheets.put_on_sheet(sheet=filled.pk, decals=[decal.pk], copies=1)
    (found,) = walking.on_filled_sheets([on_next("white")], **asked)
    assert (found["sheet"], found["words"]) == (str(filled.pk), f"sheet {filled.code}")
    new = make_sheet(Film.WHITE, moment=EVENING + timedelta(minutes=1))
    sheets.put_on_sheet(sheet=new.pk, decals=[decal.pk], copies=1)
    (found,) = walking.on_filled_sheets([on_next("white")], **asked)
    assert found["sheet"] == str(new.pk)  # what is too much for it lies on the offcut


def test_a_sheet_that_the_session_names_is_not_the_next_one(maker):
    sheet = make_sheet(moment=EVENING + timedelta(minutes=1))
    sheets.put_on_sheet(sheet=sheet.pk, decals=[make_decal(Build.WHITE_ALONE).pk], copies=1)
    tasks = [on_next("white"), on_next("white") | {"sheet": str(sheet.pk)}]
    assert walking.on_filled_sheets(tasks, since=EVENING) == tasks


def test_without_a_next_sheet_nothing_is_looked_up(django_assert_num_queries):
    tasks = [on_next("white") | {"sheet": "1"}]
    with django_assert_num_queries(0):
        assert walking.on_filled_sheets(tasks, since=EVENING) == tasks
