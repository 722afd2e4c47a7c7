"""Projects put away, thrown away, brought back; what emptying the bin takes and what it leaves."""

from datetime import timedelta

import pytest

from decaljobs.craft.stages import Build, Film, Stage
from decaljobs.models import Decal, Piece, Project, QueuedDecal, Sheet, StageEvent
from decaljobs.services.bench import steps
from decaljobs.services.film.sheets import put_on_sheet
from decaljobs.services.layout.queue import queue_decals
from decaljobs.services.projects import bin as bins
from decaljobs.services.refused import Refused
from tests.factories import EVENING, make_decal, make_project, make_sheet, sealed_decal


@pytest.fixture
def worked_on(maker):
    """A project with one decal laid and one that was never printed."""
    project = make_project(name="Tug Heron", customer="nephew", notes="grey", code="P-07")
    decal = sealed_decal(maker, Build.WHITE_ALONE, project=project, place="Door", note="mind")
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    make_decal(project=project, place="Tail")
    return project


def account(sheet):
    """A sheet's film: its pieces by state."""
    return sorted(sheet.pieces.values_list("state", flat=True))


def test_a_project_put_away_leaves_the_bench_and_the_queue(maker):
    decal = make_decal()
    queue_decals(decals=[decal.pk], by=maker, moment=EVENING)
    bins.put_away(project=decal.project_id, moment=EVENING)
    assert not Decal.objects.at_work().exists()
    assert not QueuedDecal.objects.exists()
    assert list(Project.objects.archived()) == [decal.project]
    assert not Project.objects.binned().exists()


@pytest.mark.parametrize("put", [bins.put_away, bins.throw_away])
def test_nothing_is_logged_on_it_until_it_is_brought_back(maker, put):
    decal = sealed_decal(maker, Build.WHITE_ALONE)
    put(project=decal.project_id, moment=EVENING)
    wanted = {"decals": [decal.pk], "step": Stage.BASE_APPLIED, "by": maker, "moment": EVENING}
    with pytest.raises(Refused, match="bring it back first"):
        steps.log_step(**wanted)
    with pytest.raises(Refused, match="already"):
        put(project=decal.project_id, moment=EVENING)
    bins.bring_back(project=decal.project_id)
    assert steps.log_step(**wanted)
    with pytest.raises(Refused, match="at work already"):
        bins.bring_back(project=decal.project_id)


def test_emptying_takes_what_was_never_worked_on_altogether(db):
    decal = make_decal()
    sheet = make_sheet(Film.WHITE)
    put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=2)
    bins.throw_away(project=decal.project_id, moment=EVENING)
    assert bins.empty_bin(moment=EVENING) == bins.Emptied(removed=1, stripped=0)
    assert not Project.objects.exists()
    assert not Decal.objects.exists()
    assert Sheet.objects.get().pieces.count() == 0


def test_emptying_leaves_the_log_and_the_sheets_account_of_film(worked_on):
    sheet = Sheet.objects.get()
    before, events = account(sheet), StageEvent.objects.count()
    assert before == ["good", "used"]
    bins.throw_away(project=worked_on.pk, moment=EVENING)
    assert bins.empty_bin(moment=EVENING) == bins.Emptied(removed=0, stripped=1)
    assert account(sheet) == before
    assert StageEvent.objects.count() == events
    worked_on.refresh_from_db()
    assert (worked_on.name, worked_on.customer, worked_on.notes) == (bins.EMPTIED_NAME, "", "")
    assert [(d.place, d.note) for d in worked_on.decals.all()] == [("Door", "")]
    assert worked_on.emptied_at == EVENING


def test_what_was_emptied_is_out_of_the_bin_and_stays_gone(worked_on):
    bins.throw_away(project=worked_on.pk, moment=EVENING)
    bins.empty_bin(moment=EVENING)
    assert not Project.objects.binned().exists()
    with pytest.raises(Refused, match="only its log is left"):
        bins.bring_back(project=worked_on.pk)
    with pytest.raises(Refused, match="empty already"):
        bins.empty_bin(moment=EVENING)


def test_a_planned_piece_of_a_project_with_a_log_makes_room_on_its_sheet(worked_on):
    planned = make_sheet(Film.WHITE)
    tail = worked_on.decals.get(place="Tail")
    put_on_sheet(sheet=planned.pk, decals=[tail.pk], copies=2)
    bins.throw_away(project=worked_on.pk, moment=EVENING)
    bins.empty_bin(moment=EVENING + timedelta(days=1))
    assert not planned.pieces.exists()
    assert not Decal.objects.filter(pk=tail.pk).exists()
    assert Piece.objects.count() == 2


def test_a_printed_sheet_alone_is_history(maker):
    decal = make_decal(Build.WHITE_ALONE)
    sheet = make_sheet(Film.WHITE)
    put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=1)
    assert not bins.has_history(decal.project)
    Sheet.objects.update(printed_at=EVENING)
    assert bins.has_history(decal.project)
