"""Pieces: spoiled once printed, taken off before."""

import pytest
from django.urls import reverse

from decaljobs.craft.stages import Build, Film, Layer
from decaljobs.models import Piece, PieceState, StageEvent
from decaljobs.services.film import sheets
from tests.factories import make_decal, make_sheet, sealed_decal

pytestmark = pytest.mark.usefixtures("in_the_evening")


@pytest.fixture
def piece(maker):
    """A good clear piece on a sealed sheet."""
    return sealed_decal(maker, place="Left side").pieces.filter(layer=Layer.CLEAR).first()


@pytest.fixture
def unprinted(db):
    """A piece on a sheet that is not printed yet."""
    sheet = make_sheet(Film.WHITE)
    decal = make_decal(Build.WHITE_ALONE)
    return sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=1)[0]


def spoil(client, piece: Piece, **data):
    return client.post(reverse("piece-spoil", args=[piece.pk]), data)


def take_off(client, piece: Piece, **data):
    return client.post(reverse("piece-take-off", args=[piece.pk]), data)


def test_it_requires_somebody_signed_in(client, piece):
    assert spoil(client, piece).status_code == 302
    piece.refresh_from_db()
    assert piece.state == PieceState.GOOD


def test_a_piece_is_spoiled_with_its_cause(signed_in, maker, piece):
    response = spoil(signed_in, piece, reason="fell on the floor")
    assert response["Location"] == piece.decal.get_absolute_url()
    piece.refresh_from_db()
    assert piece.state == PieceState.SPOILED
    event = piece.decal.events.latest("number")
    assert (event.kind, event.reason, event.by) == (
        StageEvent.Kind.PIECE_SPOILED,
        "fell on the floor",
        maker,
    )
    assert "fell on the floor" in signed_in.get(piece.decal.get_absolute_url()).content.decode()


def test_it_leads_back_to_the_sheet_it_came_from(signed_in, piece):
    sheet = piece.sheet.get_absolute_url()
    assert spoil(signed_in, piece, next=sheet)["Location"] == sheet


def test_it_leads_back_to_no_page_but_ours(signed_in, piece):
    response = spoil(signed_in, piece, next="https://elsewhere.example/")
    assert response["Location"] == piece.decal.get_absolute_url()


def test_it_rejects_a_cause_too_long_beside_its_field_and_keeps_it(signed_in, piece):
    response = spoil(signed_in, piece, reason="y" * 301)
    assert response.status_code == 422
    page = response.content.decode()
    error = page.split(f'id="piece-{piece.pk}_reason_error"')[1].split("</ul>")[0]
    assert "300" in error
    assert "y" * 301 in page
    piece.refresh_from_db()
    assert piece.state == PieceState.GOOD


def test_it_rejects_spoiling_a_piece_twice(signed_in, piece):
    spoil(signed_in, piece)
    page = signed_in.post(reverse("piece-spoil", args=[piece.pk]), follow=True).content.decode()
    assert "spoiled already" in page
    assert piece.decal.events.filter(kind=StageEvent.Kind.PIECE_SPOILED).count() == 1


def test_it_rejects_spoiling_what_is_not_printed(signed_in, unprinted):
    page = spoil(signed_in, unprinted, next="").headers["Location"]
    assert "not printed yet" in signed_in.get(page).content.decode()
    unprinted.refresh_from_db()
    assert unprinted.state == PieceState.GOOD


def test_a_piece_is_taken_off_a_sheet_not_printed(signed_in, unprinted):
    sheet = unprinted.sheet.get_absolute_url()
    assert take_off(signed_in, unprinted, next=sheet)["Location"] == sheet
    assert not Piece.objects.filter(pk=unprinted.pk).exists()


def test_it_rejects_taking_a_piece_off_a_printed_sheet(signed_in, piece):
    take_off(signed_in, piece)
    page = signed_in.get(piece.decal.get_absolute_url()).content.decode()
    assert "is printed: spoil the piece instead" in page
    assert Piece.objects.filter(pk=piece.pk).exists()


def test_a_piece_that_is_not_there_is_not_found(signed_in):
    assert signed_in.post("/pieces/999999/spoil/").status_code == 404
    assert signed_in.post("/pieces/999999/take-off/").status_code == 404


def test_it_rejects_an_onlooker(client, onlooker, piece, unprinted):
    client.force_login(onlooker)
    assert spoil(client, piece).status_code == 403
    assert take_off(client, unprinted).status_code == 403
    assert Piece.objects.good().filter(pk__in=[piece.pk, unprinted.pk]).count() == 2


def test_it_changes_nothing_by_being_looked_at(signed_in, piece):
    assert signed_in.get(reverse("piece-spoil", args=[piece.pk])).status_code == 405
    assert signed_in.get(reverse("piece-take-off", args=[piece.pk])).status_code == 405
