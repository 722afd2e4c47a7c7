"""Pieces put on a sheet by hand get their places."""

import pytest

from decaljobs.craft.stages import Build
from decaljobs.services.film import sheet_places, sheets
from decaljobs.services.film.lost_sheets import lose_sheet
from decaljobs.services.film.sheet_places import give_places
from decaljobs.services.refused import Overtaken, Refused
from tests.factories import EVENING, make_artwork, make_decals, make_sheet

pytestmark = pytest.mark.django_db


@pytest.fixture
def filled(db):
    sheet = make_sheet("clear")
    decals = make_decals(3, Build.CLEAR_ALONE)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[d.pk for d in decals], copies=2)
    return sheet


def test_every_piece_gets_a_place_of_its_own(filled):
    assert give_places(sheet=filled, seconds=0.05) == 6
    places = set(filled.pieces.values_list("x_mm", "y_mm"))
    assert len(places) == 6
    assert min(min(place) for place in places) >= 7


def test_an_empty_sheet_is_refused():
    with pytest.raises(Refused, match="Nothing lies"):
        give_places(sheet=make_sheet("clear"))


def test_too_many_pieces_are_told_with_their_number(filled):
    wide = make_artwork(width_mm=180)
    decals = make_decals(1, Build.CLEAR_ALONE, artwork=wide)
    sheets.put_on_sheet(sheet=filled.pk, decals=[decals[0].pk], copies=5)
    with pytest.raises(Refused, match=r"of 11 are too many"):
        give_places(sheet=filled, seconds=0.05)
    assert not filled.pieces.placed().exists()


def test_a_piece_larger_than_the_sheet_is_named(filled):
    banner = make_artwork(width_mm=400)
    (decal,) = make_decals(1, Build.CLEAR_ALONE, artwork=banner, place="Roof")
    sheets.put_on_sheet(sheet=filled.pk, decals=[decal.pk], copies=1)
    with pytest.raises(Refused, match="Roof"):
        give_places(sheet=filled, seconds=0.05)


def test_a_printed_or_lost_sheet_keeps_its_places(filled, maker):
    sheets.log_printed(sheet=filled.pk, by=maker, moment=EVENING)
    with pytest.raises(Refused, match="printed already"):
        give_places(sheet=filled, seconds=0.05)
    lose_sheet(sheet=filled.pk, by=maker, moment=EVENING)
    with pytest.raises(Refused, match="lost"):
        give_places(sheet=filled, seconds=0.05)


def test_pieces_added_meanwhile_are_told(filled, monkeypatch):
    search = sheet_places.lay_out

    def slow(*args, **kwargs):
        found = search(*args, **kwargs)
        sheets.take_off_sheet(piece=filled.pieces.first().pk)
        return found

    monkeypatch.setattr(sheet_places, "lay_out", slow)
    with pytest.raises(Overtaken, match="changed what lies"):
        give_places(sheet=filled, seconds=0.05)
    assert not filled.pieces.placed().exists()
