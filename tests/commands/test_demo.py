"""The example workshop: alive at any hour, and gone without a trace."""

from datetime import UTC, datetime

import pytest
import time_machine
from django.core.management import CommandError, call_command

from decaljobs.craft.stages import Build, Stage
from decaljobs.models import (
    Artwork,
    Decal,
    Person,
    Piece,
    Project,
    Role,
    Sheet,
    StageEvent,
    Supply,
)
from decaljobs.services.film import sheets
from decaljobs.services.projects import projects
from decaljobs.services.projects.photos import before_and_after
from decaljobs.services.projects.placing import panels_of
from decaljobs.services.stores import supplies
from tests.factories import make_artwork, make_person, make_project, make_sheet, sealed_decal

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("in_the_evening")]


@pytest.mark.slow
@pytest.mark.parametrize(
    "moment",
    [
        datetime(2026, 11, 25, 21, 10, tzinfo=UTC),
        datetime(2026, 3, 29, 0, 59, tzinfo=UTC),  # the clocks go forward a minute later
        datetime(2028, 2, 29, 6, 0, tzinfo=UTC),
    ],
)
def test_the_bench_is_alive_whenever_it_is_loaded(moment):
    with time_machine.travel(moment, tick=False):
        call_command("load_demo", verbosity=0)
    decals = Decal.objects.all()
    counts = decals.counts(moment)
    assert Project.objects.count() >= 5
    assert Project.objects.values("scale_ratio").distinct().count() >= 3
    assert decals.count() >= 20
    assert min(counts["ready"], counts["drying"], counts["held"], counts["finished"]) >= 1
    assert {decal.stage_now(moment) for decal in decals} == set(Stage)
    assert {Build(decal.build) for decal in decals} == set(Build)


@pytest.mark.slow
def test_it_shows_panels_with_a_warning_and_photos_before_and_after():
    call_command("load_demo", verbosity=0)
    panels = {p.name: panels_of(p) for p in Project.objects.exclude(panels=None)}
    assert len(panels) >= 3
    warned = [line for shown in panels.values() for panel in shown for line in panel.warnings]
    assert len(warned) == 1
    decal = Decal.objects.get(place="Tailboard")
    pair = before_and_after(list(decal.photos.shown()))
    assert [photo.stage for photo in (pair.before, pair.after)] == ["sealed", "overcoated"]


@pytest.mark.slow
def test_it_is_loaded_once_only():
    call_command("load_demo", verbosity=0)
    with pytest.raises(CommandError, match="loaded already"):
        call_command("load_demo")


@pytest.mark.slow
def test_clearing_it_leaves_own_work_alone(settings, django_capture_on_commit_callbacks):
    make_project(name="My own")
    call_command("load_demo", verbosity=0)
    with django_capture_on_commit_callbacks(execute=True):
        call_command("clear_demo", verbosity=0)
    assert [p.name for p in Project.objects.all()] == ["My own"]
    for records in (Decal, Piece, Sheet, StageEvent, Artwork):
        assert not records.objects.exists()
    assert [file for file in settings.MEDIA_ROOT.rglob("*") if file.is_file()] == []


@pytest.mark.slow
def test_clearing_it_takes_along_the_owner_it_made():
    call_command("load_demo")
    assert Person.objects.get().is_owner
    call_command("clear_demo")
    assert not Person.objects.exists()


@pytest.mark.slow
def test_clearing_it_leaves_the_owner_whose_name_own_work_bears():
    call_command("load_demo")
    maker = Person.objects.get()
    sealed_decal(maker, place="Bow")
    call_command("clear_demo")
    assert Person.objects.get() == maker


@pytest.mark.slow
def test_clearing_it_leaves_the_owner_who_was_there():
    owner = make_person(Role.OWNER)
    call_command("load_demo")
    call_command("clear_demo")
    assert Person.objects.get() == owner


@pytest.mark.slow
def test_clearing_it_refuses_where_own_work_hangs_on_it():
    call_command("load_demo", verbosity=0)
    own = projects.add_decals(
        project=make_project(),
        artwork=Artwork.objects.first(),
        place="Bow",
        build=Build.CLEAR_ALONE,
        count=1,
        moment=datetime(2026, 11, 2, tzinfo=UTC),
    )
    with pytest.raises(CommandError, match="own work uses artwork of the example"):
        call_command("clear_demo")
    sheets.put_on_sheet(
        sheet=Sheet.objects.get(film="clear", printed_at=None).pk, decals=[own[0].pk], copies=1
    )
    with pytest.raises(CommandError, match="holds pieces of your own work"):
        call_command("clear_demo")


@pytest.mark.slow
def test_own_pieces_and_sheets_stay():
    sheet, artwork = make_sheet(), make_artwork()
    call_command("load_demo", verbosity=0)
    call_command("clear_demo", verbosity=0)
    assert list(Sheet.objects.all()) == [sheet]
    assert list(Artwork.objects.all()) == [artwork]


@pytest.mark.slow
def test_it_takes_nothing_from_the_makers_own_stores():
    fields = {"kind": "film", "film": "white", "printer": "inkjet"}
    own = supplies.keep_supply(
        supply=Supply(name="My white film", width_mm=210, height_mm=297, **fields), uses={}
    )
    call_command("load_demo", verbosity=0)
    assert not own.lines.exists()
    assert not Sheet.objects.filter(example=False).exists()
    call_command("clear_demo", verbosity=0)
    assert not Sheet.objects.exists()
