"""Lost sheets: what lies on them is no use, whatever is undone afterwards."""

from datetime import timedelta

import pytest

from decaljobs.craft.stages import Build, Hold, Stage
from decaljobs.models import Piece, Room
from decaljobs.services.bench import moving, steps, touch, undoing
from decaljobs.services.film import lost_sheets
from decaljobs.services.film.lost_sheets import lose_sheet
from decaljobs.services.projects.jobcard import job_card
from decaljobs.services.refused import Refused
from tests.factories import EVENING, make_decal, make_sheet, sealed_decal, sealed_sheet

pytestmark = pytest.mark.django_db

LATER = EVENING + timedelta(hours=1)


@pytest.fixture
def laid(maker):
    """A decal whose only piece was laid before its sheet was lost."""
    decal = make_decal(Build.WHITE_ALONE)
    sealed_sheet("white", [decal], maker, copies=1)
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    lose_sheet(sheet=decal.pieces.first().sheet_id, by=maker, moment=EVENING)
    return decal


def test_a_piece_that_comes_back_to_a_lost_sheet_is_no_use(laid, maker):
    undoing.undo_last(decal=laid.pk, by=maker, moment=LATER)
    laid.refresh_from_db()
    assert (laid.stage, laid.held_because) == (Stage.SEALED, Hold.NO_BASE_PIECE)
    with pytest.raises(Refused, match="No good base piece"):
        steps.log_step(decals=[laid.pk], step=Stage.BASE_APPLIED, by=maker, moment=LATER)
    (row,) = job_card(project=laid.project, address="http://bench", moment=LATER).decals
    assert (row.pieces, row.good_copies) == ((), (("base", 0),))


def test_a_piece_laid_in_the_same_moment_is_not_spoiled_with_its_sheet(maker, monkeypatch):
    decal = sealed_decal(maker, Build.WHITE_ALONE)
    sheet = decal.pieces.first().sheet_id
    lock = lost_sheets.decals_on

    def wait_for_somebody(found):
        steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
        return lock(found)

    monkeypatch.setattr(lost_sheets, "decals_on", wait_for_somebody)
    event = lose_sheet(sheet=sheet, by=maker, moment=EVENING)
    (line,) = event.stage_events.all()
    assert [piece.state for piece in line.pieces.all()] == ["spoiled"]
    assert sorted(Piece.objects.values_list("state", flat=True)) == ["spoiled", "used"]


def test_a_lost_sheet_is_neither_carried_nor_touched(maker):
    sheet = make_sheet()
    shed = Room.objects.create(name="Shed", kind="shed")
    lose_sheet(sheet=sheet.pk, by=maker, moment=EVENING)
    with pytest.raises(Refused, match="lost"):
        moving.move_sheet(sheet=sheet.pk, room=shed, by=maker, moment=LATER)
    with pytest.raises(Refused, match="lost"):
        touch.log_sheet_touch(sheet=sheet.pk, dry=True, by=maker, moment=LATER)
