"""Sheets: printing and sealing move every decal on them, in one go or not at all."""

from datetime import timedelta

import pytest

from decaljobs.craft.stages import Build
from decaljobs.models import Piece, Room, StageEvent
from decaljobs.services.bench import spoiling, steps
from decaljobs.services.film import sheet_undoing, sheets
from decaljobs.services.refused import Overtaken, Refused, TooEarly
from tests.factories import EVENING, make_decals, make_sheet, sealed_sheet

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)


@pytest.fixture
def pair(maker):
    """Three laminated decals on one white and one clear sheet, neither printed."""
    decals = make_decals(3)
    white, clear = make_sheet("white"), make_sheet("clear")
    for sheet in (white, clear):
        sheets.put_on_sheet(sheet=sheet.pk, decals=[d.pk for d in decals], copies=2)
    return decals, white, clear


def stages(decals):
    for decal in decals:
        decal.refresh_from_db()
    return [decal.stage for decal in decals]


def test_codes_count_up_by_film():
    assert [make_sheet(film).code for film in ("white", "white", "clear")] == [
        "W-01",
        "W-02",
        "C-01",
    ]


def test_a_laminated_decal_is_printed_once_both_films_are(maker, pair):
    decals, white, clear = pair
    sheets.log_printed(sheet=white.pk, by=maker, moment=EVENING)
    assert stages(decals) == ["planned"] * 3
    sheets.log_printed(sheet=clear.pk, by=maker, moment=EVENING + HOUR)
    assert stages(decals) == ["printed"] * 3
    assert {event.sheet_event.sheet for event in StageEvent.objects.all()} == {clear}


def test_it_seals_coat_by_coat_with_the_waits_between(maker, pair):
    decals, white, clear = pair
    for sheet in (white, clear):
        sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING)
    with pytest.raises(TooEarly, match="before tomorrow 07:00"):
        sheets.log_coat(sheet=white.pk, by=maker, moment=EVENING + HOUR)
    first = EVENING + 12 * HOUR
    for sheet in (white, clear):
        sheets.log_coat(sheet=sheet.pk, by=maker, moment=first)
    with pytest.raises(TooEarly):
        sheets.log_coat(sheet=white.pk, by=maker, moment=first + timedelta(minutes=29))
    for sheet in (white, clear):
        sheets.log_coat(sheet=sheet.pk, by=maker, moment=first + timedelta(minutes=30))
    assert stages(decals) == ["sealed"] * 3
    white.refresh_from_db()
    assert white.rested_at == first + timedelta(minutes=30) + 24 * HOUR
    assert decals[0].ready_at == white.rested_at
    with pytest.raises(Refused, match="All 2 coats"):
        sheets.log_coat(sheet=white.pk, by=maker, moment=first + 40 * HOUR)


def test_an_early_coat_is_kept_with_its_reason(maker, pair):
    _, white, _ = pair
    sheets.log_printed(sheet=white.pk, by=maker, moment=EVENING)
    event = sheets.log_coat(
        sheet=white.pk, by=maker, moment=EVENING + HOUR, reason="warmed over the radiator"
    )
    assert event.reason == "warmed over the radiator"


def test_it_refuses_to_print_an_empty_sheet(maker):
    with pytest.raises(Refused, match="Nothing lies on sheet W-01"):
        sheets.log_printed(sheet=make_sheet().pk, by=maker, moment=EVENING)


def test_a_printed_sheet_takes_no_more_pieces(maker, pair):
    decals, white, _ = pair
    sheets.log_printed(sheet=white.pk, by=maker, moment=EVENING)
    with pytest.raises(Refused, match="printed already"):
        sheets.put_on_sheet(sheet=white.pk, decals=[decals[0].pk], copies=1)
    with pytest.raises(Refused, match="spoil the piece"):
        sheets.take_off_sheet(piece=white.pieces.first().pk)


def test_a_clear_decal_does_not_go_on_white_film():
    (decal,) = make_decals(1, Build.CLEAR_ALONE)
    with pytest.raises(Refused, match="has no base layer"):
        sheets.put_on_sheet(sheet=make_sheet("white").pk, decals=[decal.pk], copies=1)
    assert not Piece.objects.exists()


def test_a_piece_taken_off_leaves_the_decal_without_one(pair):
    decals, white, _ = pair
    for piece in white.pieces.filter(decal=decals[0]):
        sheets.take_off_sheet(piece=piece.pk)
    decals[0].refresh_from_db()
    assert decals[0].held_because == "no_base_piece"


def test_the_second_of_two_makers_is_told(maker, pair):
    _, white, _ = pair
    sheets.log_printed(sheet=white.pk, by=maker, moment=EVENING, seen=0)
    with pytest.raises(Overtaken, match="‘Printed’ was logged by mara"):
        sheets.log_printed(sheet=white.pk, by=maker, moment=EVENING, seen=0)
    assert white.events.count() == 1


def test_undoing_a_coat_takes_back_the_seal_of_every_decal(maker):
    decals = make_decals(2, Build.CLEAR_ALONE)
    sheet = sealed_sheet("clear", decals, maker)
    assert stages(decals) == ["sealed"] * 2
    sheet_undoing.undo_sheet(sheet=sheet.pk, by=maker, moment=EVENING)
    assert stages(decals) == ["printed"] * 2
    sheet.refresh_from_db()
    assert (sheet.coats_done, sheet.is_sealed) == (1, False)
    assert decals[0].events.get(kind="undo").sheet_event.kind == "undo"


def test_undoing_a_print_falls_back_even_when_the_other_film_had_the_last_word(maker, pair):
    decals, white, clear = pair
    sheets.log_printed(sheet=white.pk, by=maker, moment=EVENING)
    sheets.log_printed(sheet=clear.pk, by=maker, moment=EVENING)
    sheet_undoing.undo_sheet(sheet=white.pk, by=maker, moment=EVENING + HOUR)
    assert stages(decals) == ["planned"] * 3
    sheets.log_printed(sheet=white.pk, by=maker, moment=EVENING + 2 * HOUR)
    assert stages(decals) == ["printed"] * 3


def test_undoing_the_print_of_a_sheet_that_lies_elsewhere_brings_it_to_the_usual_room(maker, pair):
    decals, white, clear = pair
    shed = Room.objects.create(name="Shed")
    for thing in (white, clear, *decals):
        thing.room = shed
        thing.save()
    for sheet in (white, clear):
        sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING)
    assert stages(decals) == ["printed"] * 3
    sheet_undoing.undo_sheet(sheet=clear.pk, by=maker, moment=EVENING + HOUR)
    clear.refresh_from_db()
    assert (clear.printed_at, clear.room) == (None, None)
    assert stages(decals) == ["planned"] * 3
    assert [decal.room for decal in decals] == [None] * 3


def test_a_sheet_is_not_undone_once_a_piece_of_it_is_laid(maker):
    decals = make_decals(1, Build.CLEAR_ALONE)
    sheet = sealed_sheet("clear", decals, maker)
    steps.log_step(decals=[decals[0].pk], step="clear_applied", by=maker, moment=EVENING)
    with pytest.raises(Refused, match="lies on the model"):
        sheet_undoing.undo_sheet(sheet=sheet.pk, by=maker, moment=EVENING + HOUR)


def test_a_print_is_not_undone_while_a_piece_of_it_is_spoiled(maker, pair):
    _, white, _ = pair
    sheets.log_printed(sheet=white.pk, by=maker, moment=EVENING)
    spoiling.spoil_piece(piece=white.pieces.first().pk, by=maker, moment=EVENING, reason="bent")
    with pytest.raises(Refused, match="logged as spoiled"):
        sheet_undoing.undo_sheet(sheet=white.pk, by=maker, moment=EVENING + HOUR)


def test_a_coat_is_not_logged_before_the_print_it_follows(maker, pair):
    _, white, _ = pair
    sheets.log_printed(sheet=white.pk, by=maker, moment=EVENING)
    with pytest.raises(Refused, match="before printing"):
        sheets.log_coat(sheet=white.pk, by=maker, moment=EVENING + 13 * HOUR, at=EVENING - HOUR)
