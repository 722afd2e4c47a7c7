"""Several decals changed at one go: all of them or none."""

import pytest

from decaljobs.craft.stages import Build
from decaljobs.models import QueuedDecal, Room, StageEvent
from decaljobs.services.projects.several import DecalChanges, change_several
from decaljobs.services.refused import Refused
from tests.factories import (
    EVENING,
    make_artwork,
    make_decal,
    make_decals,
    make_project,
    sealed_decal,
)


@pytest.fixture
def project(db):
    return make_project()


def change(decals, by, **wishes):
    return change_several(
        decals=[d.pk for d in decals], wishes=DecalChanges(**wishes), by=by, moment=EVENING
    )


def test_artwork_build_place_and_note_are_changed_together(project, maker):
    decals = make_decals(3, project=project, place="Left door")
    art = make_artwork(name="Shield")
    change(
        decals,
        maker,
        artwork=art,
        build=Build.CLEAR_ALONE,
        place_from="Left",
        place_to="Right",
        note="mind the hinge",
    )
    found = set(project.decals.values_list("place", "artwork", "build", "note"))
    assert found == {("Right door", art.pk, "clear_alone", "mind the hinge")}


def test_what_is_left_empty_stays(project, maker):
    (decal,) = make_decals(1, project=project, place="Door", note="aft")
    change([decal], maker, place_from="oor", place_to="eck")
    decal.refresh_from_db()
    assert (decal.place, decal.note, decal.build) == ("Deck", "aft", "laminated")


def test_one_that_cannot_change_keeps_all_others_from_it(project, maker):
    free = make_decal(project=project, place="Door")
    printed = sealed_decal(maker, project=project, place="Tail")
    with pytest.raises(Refused, match="Pieces of Tail are on a sheet"):
        change([free, printed], maker, build=Build.CLEAR_ALONE)
    free.refresh_from_db()
    assert free.build == Build.LAMINATED


def test_two_decals_are_not_brought_to_one_place(project, maker):
    left, _ = (make_decal(project=project, place=f"{side} door") for side in ("left", "right"))
    with pytest.raises(Refused, match="the same place"):
        change([left], maker, place_from="left", place_to="right")
    left.refresh_from_db()
    assert left.place == "left door"


@pytest.mark.parametrize("wishes", [{}, {"place_to": "x"}])
def test_nothing_asked_for_is_said(project, maker, wishes):
    with pytest.raises(Refused, match="Say what"):
        change([make_decal(project=project)], maker, **wishes)


@pytest.mark.parametrize("to", ["", "x" * 130])
def test_a_place_is_not_emptied_or_made_too_long(project, maker, to):
    with pytest.raises(Refused, match="would have"):
        change([make_decal(project=project, place="Door")], maker, place_from="Door", place_to=to)


def test_those_that_lie_elsewhere_are_carried_to_the_room(project, maker):
    loft = Room.objects.create(name="Loft", kind="shed")
    here, there = (make_decal(project=project, place=p) for p in ("Door", "Tail"))
    change([there], maker, room=loft)
    change([here, there], maker, room=loft)
    assert StageEvent.objects.filter(kind="moved", decal=here).count() == 1
    assert StageEvent.objects.filter(kind="moved", decal=there).count() == 1


def test_they_are_queued_for_the_next_sheet(project, maker):
    decals = make_decals(2, project=project)
    change(decals, maker, queue=True)
    assert QueuedDecal.objects.count() == 2
