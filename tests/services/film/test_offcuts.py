"""Offcuts, lost sheets, and film that may not be fed again."""

from datetime import timedelta
from decimal import Decimal

import pytest

from decaljobs.craft.stages import Build
from decaljobs.models import Sheet
from decaljobs.services.bench import steps
from decaljobs.services.film import offcuts, sheet_undoing, sheets
from decaljobs.services.film.lost_sheets import lose_sheet
from decaljobs.services.film.offcuts import Side
from decaljobs.services.refused import Overtaken, Refused
from tests.factories import EVENING, make_decals, make_sheet, sealed_sheet

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)


def cut(sheet, maker, at_mm=120.0, side=Side.FOOT, **fields):
    return offcuts.cut_off(
        sheet=sheet.pk, side=side, at_mm=at_mm, by=maker, moment=EVENING, **fields
    )


@pytest.fixture
def placed(maker):
    """A printed clear sheet with one piece from 6 to 46 mm down and to 66 mm across."""
    sheet = make_sheet("clear")
    (decal,) = make_decals(1, Build.CLEAR_ALONE)
    (piece,) = sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=1)
    place = {"x_mm": 6, "y_mm": 6, "width_mm": 60, "height_mm": 40, "degrees": 0}
    type(piece).objects.filter(pk=piece.pk).update(**place)
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING)
    sheet.refresh_from_db()
    return sheet


def test_the_rest_becomes_a_sheet_with_code_and_size(maker, placed):
    offcut = cut(placed, maker)
    placed.refresh_from_db()
    assert (offcut.code, offcut.cut_from) == ("C-02", placed)
    assert (offcut.width_mm, offcut.height_mm) == (210, 177)
    assert (placed.width_mm, placed.height_mm) == (210, 120)
    assert str(placed.events.last()) == "Rest cut off as C-02"


def test_a_cut_down_the_right_keeps_the_height(maker, placed):
    offcut = cut(placed, maker, 70.04, Side.RIGHT)
    assert (offcut.width_mm, offcut.height_mm) == (Decimal("140.0"), 297)


@pytest.mark.parametrize("at_mm", [0, 9.9, 287.1, 297, 5000, -1, float("nan"), float("inf")])
def test_it_refuses_a_cut_beside_the_sheet(maker, placed, at_mm):
    with pytest.raises(Refused):
        cut(placed, maker, at_mm)
    assert Sheet.objects.count() == 1


def test_it_refuses_a_cut_through_a_piece_and_names_where_it_ends(maker, placed):
    with pytest.raises(Refused, match="reaches to 46[.]0\u00a0mm"):
        cut(placed, maker, 45.5)
    assert cut(placed, maker, 46).height_mm == 251


def test_a_sealed_sheet_gives_no_offcut(maker):
    sheet = sealed_sheet("clear", make_decals(1, Build.CLEAR_ALONE), maker)
    with pytest.raises(Refused, match="takes no ink"):
        cut(sheet, maker)


def test_an_outdated_page_cuts_nothing(maker, placed):
    cut(placed, maker, 200, seen=placed.events_logged)
    with pytest.raises(Overtaken, match="Rest cut off as C-02"):
        cut(placed, maker, 100, seen=placed.events_logged)


def test_a_cut_is_undone_while_the_offcut_is_clean(maker, placed):
    offcut = cut(placed, maker)
    sheet_undoing.undo_sheet(sheet=placed.pk, by=maker, moment=EVENING + HOUR)
    placed.refresh_from_db()
    assert placed.height_mm == 297
    assert placed.is_printed
    assert not Sheet.objects.filter(pk=offcut.pk).exists()


def test_a_cut_is_not_undone_once_the_offcut_is_in_use(maker, placed):
    offcut = cut(placed, maker)
    (decal,) = make_decals(1, Build.CLEAR_ALONE)
    sheets.put_on_sheet(sheet=offcut.pk, decals=[decal.pk], copies=1)
    with pytest.raises(Refused, match="Offcut C-02 is in use"):
        sheet_undoing.undo_sheet(sheet=placed.pk, by=maker, moment=EVENING + HOUR)
    placed.refresh_from_db()
    assert placed.height_mm == 120


def test_clean_offcuts_are_unprinted_unlost_empty_and_cut_from_a_sheet(maker, placed):
    small = cut(placed, maker, 250)
    large = cut(placed, maker, 100)
    lost = cut(large, maker, 50)
    make_sheet("clear")
    assert set(Sheet.objects.clean_offcuts()) == {small, large, lost}
    lose_sheet(sheet=lost.pk, by=maker, moment=EVENING)
    (decal,) = make_decals(1, Build.CLEAR_ALONE)
    sheets.put_on_sheet(sheet=large.pk, decals=[decal.pk], copies=1)
    assert list(Sheet.objects.clean_offcuts()) == [small]


def test_laser_film_is_not_cut_before_it_is_printed(maker):
    sheet = make_sheet("clear", printer="laser", coats_wanted=1)
    with pytest.raises(Refused, match="hot fuser"):
        cut(sheet, maker)


def test_laser_offcuts_are_fed_only_on_the_owners_word(maker, owner):
    (decal,) = make_decals(1, Build.CLEAR_ALONE)
    sheet = make_sheet("clear", printer="laser", coats_wanted=1)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=1)
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING)
    offcut = cut(sheet, maker)
    sheets.put_on_sheet(sheet=offcut.pk, decals=[decal.pk], copies=1)
    with pytest.raises(Refused, match="Laser sheet C-02 was cut"):
        sheets.log_printed(sheet=offcut.pk, by=maker, moment=EVENING)
    with pytest.raises(Refused, match="Only the owner"):
        offcuts.allow_refeeding(sheet=offcut.pk, reason="the packet says so", by=maker)
    with pytest.raises(Refused, match="Say why"):
        offcuts.allow_refeeding(sheet=offcut.pk, reason="  ", by=owner)
    offcuts.allow_refeeding(sheet=offcut.pk, reason="the packet says so", by=owner)
    sheets.log_printed(sheet=offcut.pk, by=maker, moment=EVENING)
    offcut.refresh_from_db()
    assert offcut.is_printed
    assert offcut.refeed_reason == "the packet says so (olle)"


def test_the_owners_word_goes_along_with_what_is_cut_off_later(maker, owner):
    sheet = make_sheet("white", printer="laser", coats_wanted=1)
    assert not Sheet.objects.clean_offcuts().exists()
    offcuts.allow_refeeding(sheet=sheet.pk, reason="made for it", by=owner)
    assert list(Sheet.objects.clean_offcuts()) == []
    offcut = cut(sheet, maker)
    assert list(Sheet.objects.clean_offcuts()) == [offcut]


def test_a_lost_sheet_spoils_its_good_pieces_and_every_log_says_so(maker):
    decals = make_decals(2, Build.CLEAR_ALONE)
    sheet = sealed_sheet("clear", decals, maker)
    steps.log_step(decals=[decals[0].pk], step="clear_applied", by=maker, moment=EVENING)
    lose_sheet(sheet=sheet.pk, by=maker, moment=EVENING + HOUR, reason="left on the tram")
    states = sorted(sheet.pieces.values_list("state", flat=True))
    assert states == ["spoiled", "spoiled", "spoiled", "used"]
    line = decals[1].events.get(kind="piece_spoiled")
    assert (line.reason, line.sheet_event.kind, line.pieces.count()) == (
        "left on the tram",
        "lost",
        2,
    )
    decals[1].refresh_from_db()
    assert decals[1].held_because == "no_clear_piece"


def test_nothing_is_done_to_a_lost_sheet(maker):
    sheet = sealed_sheet("clear", make_decals(1, Build.CLEAR_ALONE), maker)
    lose_sheet(sheet=sheet.pk, by=maker, moment=EVENING)
    with pytest.raises(Refused, match="lost already"):
        lose_sheet(sheet=sheet.pk, by=maker, moment=EVENING)
    with pytest.raises(Refused, match="is lost"):
        cut(sheet, maker)
    (other,) = make_decals(1, Build.CLEAR_ALONE)
    with pytest.raises(Refused, match="logged as lost"):
        sheets.put_on_sheet(sheet=sheet.pk, decals=[other.pk], copies=1)


def test_a_sheet_found_again_has_its_pieces_back(maker):
    (decal,) = make_decals(1, Build.CLEAR_ALONE)
    sheet = sealed_sheet("clear", [decal], maker)
    lose_sheet(sheet=sheet.pk, by=maker, moment=EVENING)
    sheet_undoing.undo_sheet(sheet=sheet.pk, by=maker, moment=EVENING + HOUR)
    sheet.refresh_from_db()
    decal.refresh_from_db()
    assert (sheet.lost_at, decal.held_because, decal.stage) == (None, "", "sealed")
    assert set(sheet.pieces.values_list("state", flat=True)) == {"good"}
