"""One session gathered for the paper."""

import pytest
import time_machine

from decaljobs.craft.stages import Build, Film
from decaljobs.services.film.sheets import put_on_sheet
from decaljobs.services.plan import plans
from decaljobs.services.plan.eveningsheet import evening_sheet
from tests.factories import EVENING, make_decal, make_project, make_sheet, sealed_decal

pytestmark = pytest.mark.django_db


def first_sheet():
    with time_machine.travel(EVENING, tick=False):
        plans.make_now(moment=EVENING, iterations=20)
    session = next(s for s in plans.newest_found()["sessions"] if s["tasks"])
    return evening_sheet(session=session, moment=EVENING)


def test_it_holds_the_tasks_of_all_projects_in_order_with_where_their_pieces_lie(maker):
    one = sealed_decal(maker, Build.WHITE_ALONE, project=make_project(name="Launch"))
    sealed_decal(maker, Build.CLEAR_ALONE, project=make_project(name="Wagon"))
    sheet = first_sheet()
    assert sheet.when == "Mon 2 Nov 19:00–22:00"
    assert sheet.maker == "mara"
    assert {task.project.split(" (")[0] for task in sheet.tasks} == {"Launch", "Wagon"}
    assert [task.clock for task in sheet.tasks] == ["19:00", "19:15"]
    places = next(task.places for task in sheet.tasks if task.project.startswith("Launch"))
    assert places == (f"{one.words}: 2 base on W-01, sealed and dry",)


def test_every_task_with_a_blade_solvents_or_spray_has_its_caution(maker):
    sealed_decal(maker)
    make_decal(Build.CLEAR_ALONE)
    sheet = first_sheet()
    cautions = {task.words.split(":")[0]: task.caution for task in sheet.tasks}
    assert "blade is sharp" in cautions["Base layer"]
    assert "vapour" in cautions["Base layer"]
    assert "fuser" in cautions["Print the next clear sheet"]
    assert sheet.ready[0]


def test_a_sheet_that_is_printed_wants_its_own_film_only(maker):
    clear = make_sheet(Film.CLEAR)
    put_on_sheet(sheet=clear.pk, decals=[make_decal().pk], copies=1)
    wanted = {task.words: task.materials for task in first_sheet().tasks}
    assert wanted == {
        f"Print sheet {clear.code}": ("clear film",),
        "Print the next white sheet": ("white film",),
    }


def test_a_clear_layer_on_the_bare_paint_has_the_caution_of_old_paint(maker):
    sealed_decal(maker, Build.CLEAR_ALONE)
    (task,) = first_sheet().tasks
    assert "Old paint may hold lead" in task.caution
    assert "No fluid beneath" not in task.caution


def test_it_takes_no_more_queries_for_more_tasks(maker, django_assert_max_num_queries):
    for number in range(8):
        sealed_decal(maker, Build.CLEAR_ALONE, project=make_project(name=f"Model {number}"))
    with time_machine.travel(EVENING, tick=False):
        plans.make_now(moment=EVENING, iterations=5)
    session = next(s for s in plans.newest_found()["sessions"] if s["tasks"])
    with django_assert_max_num_queries(4):
        sheet = evening_sheet(session=session, moment=EVENING)
    assert len(sheet.tasks) == len(session["tasks"]) > 1
