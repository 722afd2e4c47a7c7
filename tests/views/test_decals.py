"""The page of a decal: its way, its waits, what is said and who sees it."""

from datetime import timedelta

import pytest
from django.urls import reverse

from decaljobs.craft.stages import Build, Film, Layer, Stage
from decaljobs.models import PieceState, StageEvent
from decaljobs.services.artwork.onpaint import verdict_on
from decaljobs.services.bench import spoiling
from decaljobs.services.film import sheets
from tests.factories import (
    EVENING,
    make_decal,
    make_project,
    make_sheet,
    sealed_decal,
)
from tests.views.decalpages import address, lay, page_of, post

pytestmark = pytest.mark.usefixtures("in_the_evening")

FRAGMENT = {"HX-Request": "true"}


def test_it_requires_somebody_signed_in(client, sealed):
    assert client.get(address(sealed)).status_code == 302
    assert client.post(address(sealed, "decal-log")).status_code == 302


def test_a_decal_that_is_not_there_is_not_found(signed_in):
    assert signed_in.get("/decals/999999/").status_code == 404
    assert signed_in.get(f"/decals/{10**30}/").status_code == 404


def test_it_shows_the_art_the_way_and_the_next_step_with_its_caution(signed_in, sealed):
    page = page_of(signed_in, sealed)
    assert reverse("artwork-picture", args=[sealed.artwork_id]) in page
    assert "base to come" in page  # the drawing, in words
    for stage in ("planned", "printed", "sealed", "base applied", "cured", "clear applied", "set"):
        assert f'<span class="stage">{stage}</span>' in page
    assert "overcoated" not in page
    caution, button = page.index("The blade is sharp"), page.index(">Base applied</button>")
    assert caution < button < page.index('class="how-to"')
    assert "24.0\xa0mm wide" in page


def test_a_wait_is_explained_in_a_sentence_with_its_numbers(signed_in, maker, sealed):
    lay(sealed, Stage.BASE_APPLIED, maker, hours_ago=7.4)
    page = page_of(signed_in, sealed)
    assert "Leave it alone until today 23:36" in page
    assert "7.4 of 12 reference hours done" in page
    assert "base drying" in page


def test_a_heading_later_than_the_wait_is_explained(signed_in, maker):
    decal = sealed_decal(maker, Build.WHITE_ALONE, project=make_project(overcoat=True))
    lay(decal, Stage.BASE_APPLIED, maker, hours_ago=2)
    page = page_of(signed_in, decal)
    until = page.split("Leave it alone until ")[1].split("<")[0]
    assert f"; then it rests before the overcoat until {until}." in page


def test_a_wait_on_the_sheet_names_the_sheet(signed_in, maker):
    decal = make_decal(Build.WHITE_ALONE)
    sheet = make_sheet(Film.WHITE, coats_wanted=1)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=1)
    at = EVENING - timedelta(hours=20)
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING, at=at)
    sheets.log_coat(sheet=sheet.pk, by=maker, moment=EVENING)
    page = page_of(signed_in, decal)
    assert f"Sheet {sheet.code} drying" in page
    assert "Dry to the touch" not in page


@pytest.mark.parametrize(
    "name", ["decal-log", "decal-undo", "decal-spoil", "decal-change", "decal-drop"]
)
def test_it_rejects_an_onlooker(client, onlooker, maker, sealed, name):
    lay(sealed, Stage.BASE_APPLIED, maker)
    client.force_login(onlooker)
    lines = StageEvent.objects.count()
    assert client.post(address(sealed, name), {"step": "cured"}).status_code == 403
    assert StageEvent.objects.count() == lines


def test_an_onlooker_sees_everything_but_no_buttons(client, onlooker, maker, sealed):
    lay(sealed, Stage.BASE_APPLIED, maker)
    client.force_login(onlooker)
    main = page_of(client, sealed).split("<main")[1]
    assert "12 reference hours" in main
    assert "Sealed" in main
    assert "<button" not in main
    assert "<form" not in main


@pytest.mark.parametrize("name", ["decal-log", "decal-undo", "decal-spoil", "decal-drop"])
def test_it_changes_nothing_by_being_looked_at(signed_in, sealed, name):
    assert signed_in.get(address(sealed, name)).status_code == 405


def test_a_finished_decal_says_so(signed_in, maker, sealed):
    lay(sealed, Stage.BASE_APPLIED, maker, hours_ago=40, reason="in a hurry")
    lay(sealed, Stage.CLEAR_APPLIED, maker, hours_ago=20, reason="in a hurry")
    page = page_of(signed_in, sealed)
    assert "Finished" in page
    assert ">Set</h2>" in page


def test_a_held_decal_says_why_and_what_to_do(signed_in, maker, sealed):
    for piece in sealed.pieces.filter(layer=Layer.BASE, state=PieceState.GOOD):
        spoiling.spoil_piece(piece=piece.pk, by=maker, moment=EVENING)
    page = page_of(signed_in, sealed)
    assert "No good base piece: print it on white film." in page
    assert "base missing" in page
    assert ">Base applied</button>" not in page


def test_htmx_gets_the_part_and_a_restored_page_gets_everything(signed_in, sealed):
    part = signed_in.get(address(sealed), headers=FRAGMENT)
    assert "<html" not in part.content.decode()
    assert "HX-Request" in part["Vary"]
    headers = {**FRAGMENT, "HX-History-Restore-Request": "true"}
    assert "<html" in signed_in.get(address(sealed), headers=headers).content.decode()


@pytest.mark.parametrize("rounds", [1, 30])
def test_its_queries_do_not_grow_with_the_log(
    signed_in, maker, sealed, rounds, django_assert_num_queries
):
    for _ in range(rounds):
        lay(sealed, Stage.BASE_APPLIED, maker)
        post(signed_in, sealed, "decal-undo")
    page_of(signed_in, sealed)  # shows the messages, so that they are gone
    with django_assert_num_queries(9):
        page = page_of(signed_in, sealed)
    assert page.count("took back") == min(rounds, 25)


def test_it_draws_where_the_knife_runs(signed_in, sealed):
    assert "Not measured yet" in page_of(signed_in, sealed)
    signed_in.post(f"/artwork/{sealed.artwork_id}/measure/")
    page = page_of(signed_in, sealed)
    for kind in ("cut-base", "cut-clear", "cut-relief", "cut-narrowest", "cut-label"):
        assert f'class="{kind}"' in page
    assert f"/artwork/{sealed.artwork_id}/measured/?zoom=8" in page


def test_it_tells_each_colour_s_change_on_clear_film(signed_in, sealed):
    page = page_of(signed_in, sealed)
    regions = verdict_on(sealed).regions
    assert regions
    for region in regions:
        assert all(colour in page for colour in region.hexes)
        assert f"<td>{region.difference:.1f}</td>" in page
