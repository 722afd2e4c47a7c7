"""A project copied as the pattern of a new one."""

from datetime import date, timedelta

from decaljobs.craft.stages import Build, Stage
from decaljobs.models import Panel, Placing, StageEvent
from decaljobs.services.bench import steps
from decaljobs.services.projects.copying import copy_project
from tests.factories import EVENING, make_decals, make_project, sealed_decal

LATER = EVENING + timedelta(days=3)


def test_a_copy_has_the_decals_artwork_and_places_and_no_log(maker):
    project = make_project(
        name="Tug Heron", code="P-01", customer="nephew", due=date(2026, 12, 1), notes="grey"
    )
    laid = sealed_decal(maker, Build.WHITE_ALONE, project=project, place="Door")
    steps.log_step(decals=[laid.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    make_decals(3, Build.CLEAR_ALONE, project=project, place="Wheel", note="centred")
    project.decals.filter(number=2).update(upright=True)
    panel = Panel.objects.create(project=project, name="Side", width_mm=120, height_mm=40)
    Placing.objects.create(decal=laid, panel=panel, x_mm=60, y_mm=20, turn=90)
    events = StageEvent.objects.count()
    made = copy_project(project=project, name="Tug Tern", code="", moment=LATER)
    assert (made.code, made.scale_ratio, made.notes) == ("P-02", project.scale_ratio, "grey")
    assert (made.customer, made.due) == ("", None)
    columns = ("place", "number", "out_of", "build", "note", "upright", "artwork")
    assert list(made.decals.values_list(*columns)) == list(project.decals.values_list(*columns))
    assert StageEvent.objects.count() == events
    door = made.decals.get(place="Door")
    assert (door.stage, door.held_because, door.made_at) == ("planned", "no_base_piece", LATER)
    assert (door.placing.panel.name, door.placing.x_mm, door.placing.turn) == ("Side", 60, 90)
    assert door.placing.panel.project == made


def test_a_project_without_decals_is_copied_too(db):
    made = copy_project(project=make_project(code="P-01"), name="Bare", code="X-1", moment=LATER)
    assert (made.code, made.decals.count()) == ("X-1", 0)
