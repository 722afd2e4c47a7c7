"""The decal page: next step, touch test, mishaps, undo, log, changes."""

from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse

from decaljobs.craft.stages import Build, Film, Layer, Stage
from decaljobs.models import Decal, PieceState, StageEvent
from decaljobs.services.artwork.onpaint import verdict_on
from decaljobs.services.bench import spoiling, steps
from decaljobs.services.film import sheets
from tests.factories import (
    EVENING,
    make_artwork,
    make_decal,
    make_project,
    make_sheet,
    sealed_decal,
)

FRAGMENT = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def _evening():
    with time_machine.travel(EVENING, tick=False):
        yield


@pytest.fixture
def sealed(maker):
    return sealed_decal(maker, place="Left side")


def address(decal: Decal, name: str = "decal") -> str:
    return reverse(name, args=[decal.pk])


def page_of(client, decal: Decal) -> str:
    response = client.get(address(decal))
    assert response.status_code == 200
    return response.content.decode()


def post(client, decal: Decal, name: str, **data):
    decal.refresh_from_db()
    return client.post(address(decal, name), {"seen": decal.events_logged, **data})


def lay(decal: Decal, step: Stage, by, hours_ago: float = 0, reason: str = "") -> None:
    at = EVENING - timedelta(hours=hours_ago)
    steps.log_step(decals=[decal.pk], step=step, by=by, moment=EVENING, at=at, reason=reason)


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


def test_the_next_step_is_logged(signed_in, maker, sealed):
    response = post(signed_in, sealed, "decal-log", step="base_applied", at="yesterday 21:40")
    assert response["Location"] == address(sealed)
    event = sealed.events.latest("number")
    assert (event.to_stage, event.by) == ("base_applied", maker)
    assert event.at == EVENING - timedelta(hours=21, minutes=20)
    page = page_of(signed_in, sealed)
    assert "Base applied: Left side." in page


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


def test_the_finger_can_call_a_base_cured(signed_in, maker, sealed):
    lay(sealed, Stage.BASE_APPLIED, maker, hours_ago=9)
    assert "Dry to the touch: cured" in page_of(signed_in, sealed)
    post(signed_in, sealed, "decal-log", step="cured")
    event = sealed.events.latest("number")
    assert (event.to_stage, event.how) == ("cured", "touch")
    page = page_of(signed_in, sealed)
    assert "by touch" in page
    assert ">Clear applied</button>" in page
    assert "Dry to the touch" not in page


def test_it_rejects_a_step_before_its_time_until_a_reason_is_given(signed_in, maker, sealed):
    lay(sealed, Stage.BASE_APPLIED, maker, hours_ago=2)
    response = post(signed_in, sealed, "decal-log", step="clear_applied")
    assert response.status_code == 422
    page = response.content.decode()
    assert "not ready" in page.split('id="id_reason_error"')[1].split("</ul>")[0]
    assert "<details open>" in page
    post(signed_in, sealed, "decal-log", step="clear_applied", reason="warm <b>cupboard</b>")
    page = page_of(signed_in, sealed)
    assert "before its time" in page
    assert "‘warm &lt;b&gt;cupboard&lt;/b&gt;’" in page


def test_it_rejects_a_time_in_the_future_beside_its_field(signed_in, sealed):
    response = post(signed_in, sealed, "decal-log", step="base_applied", at="23:59")
    page = response.content.decode()
    assert response.status_code == 422
    assert "still to come" in page.split('id="id_at_error"')[1].split("</ul>")[0]
    assert 'value="23:59"' in page
    assert 'aria-invalid="true"' in page


def test_it_rejects_a_time_before_the_step_it_follows(signed_in, maker, sealed):
    lay(sealed, Stage.BASE_APPLIED, maker, hours_ago=20)
    response = post(signed_in, sealed, "decal-log", step="clear_applied", at="2026-11-01 10:00")
    assert "which it follows" in response.content.decode()


@pytest.mark.parametrize("step", ["clear_applied", "overcoated", "set", "planned", "sealed", "x"])
def test_it_rejects_a_stage_skipped(signed_in, sealed, step):
    assert post(signed_in, sealed, "decal-log", step=step).status_code == 422
    assert not sealed.events.exclude(how="sheet").exists()


def test_it_rejects_a_step_on_an_outdated_page(signed_in, maker, sealed):
    lay(sealed, Stage.BASE_APPLIED, maker, hours_ago=20)
    data = {"step": "base_applied", "seen": sealed.events_logged}
    response = signed_in.post(address(sealed, "decal-log"), data)
    assert response.status_code == 422
    assert "has moved on" in response.content.decode()


def test_a_layer_on_the_model_is_spoiled(signed_in, maker, sealed):
    lay(sealed, Stage.BASE_APPLIED, maker, hours_ago=20)
    lay(sealed, Stage.CLEAR_APPLIED, maker, hours_ago=1)
    post(signed_in, sealed, "decal-spoil", layer="clear", reason="torn while nudged")
    sealed.refresh_from_db()
    assert sealed.stage == Stage.CURED
    page = page_of(signed_in, sealed)
    assert "‘torn while nudged’" in page
    assert "Spoiled: back to cured" in page


def test_a_spoiled_base_asks_for_a_clean_surface(signed_in, maker, sealed):
    lay(sealed, Stage.BASE_APPLIED, maker)
    post(signed_in, sealed, "decal-spoil", layer="base")
    assert "First: Take the spoiled film off wet" in page_of(signed_in, sealed)


def test_the_surface_is_cleaned_while_no_piece_is_left_too(signed_in, maker, sealed):
    while sealed.pieces.good().filter(layer="base").exists():
        lay(sealed, Stage.BASE_APPLIED, maker)
        post(signed_in, sealed, "decal-spoil", layer="base")
    page = page_of(signed_in, sealed)
    assert "No good base piece: print it on white film." in page
    assert "Meanwhile: Take the spoiled film off wet" in page


def test_it_rejects_spoiling_a_layer_that_is_not_there(signed_in, maker, sealed):
    assert "A layer on the model is spoiled" not in page_of(signed_in, sealed)
    lay(sealed, Stage.BASE_APPLIED, maker)
    response = post(signed_in, sealed, "decal-spoil", layer="clear", reason="kept")
    assert response.status_code == 422
    page = response.content.decode()
    assert "spoil_layer_error" in page
    assert 'value="kept"' in page


def test_it_rejects_spoiling_in_the_future(signed_in, maker, sealed):
    lay(sealed, Stage.BASE_APPLIED, maker)
    response = post(signed_in, sealed, "decal-spoil", layer="base", at="23:59")
    assert response.status_code == 422
    assert "still to come" in response.content.decode()


def test_the_last_line_is_undone(signed_in, maker, sealed):
    lay(sealed, Stage.BASE_APPLIED, maker)
    assert "Undo ‘Base applied’" in page_of(signed_in, sealed)
    response = post(signed_in, sealed, "decal-undo", next="/")
    assert response["Location"] == "/"
    sealed.refresh_from_db()
    assert sealed.stage == Stage.SEALED
    page = page_of(signed_in, sealed)
    assert "‘Base applied’ is undone: Left side." in page
    assert "took back ‘Base applied’" in page


@pytest.mark.parametrize("elsewhere", ["https://elsewhere.example/", "//elsewhere.example", ""])
def test_it_leads_back_to_no_page_but_ours(signed_in, maker, sealed, elsewhere):
    lay(sealed, Stage.BASE_APPLIED, maker)
    response = post(signed_in, sealed, "decal-undo", next=elsewhere)
    assert response["Location"] == address(sealed)


def test_what_was_logged_on_a_sheet_is_undone_there(signed_in, sealed):
    page = page_of(signed_in, sealed)
    assert "it is undone there" in page
    assert "Undo ‘" not in page
    post(signed_in, sealed, "decal-undo")
    assert "undo it there" in page_of(signed_in, sealed)
    assert not sealed.events.filter(kind=StageEvent.Kind.UNDO).exists()


def test_it_rejects_an_undo_on_an_outdated_page(signed_in, maker, sealed):
    lay(sealed, Stage.BASE_APPLIED, maker)
    signed_in.post(address(sealed, "decal-undo"), {"seen": sealed.events_logged})
    assert "has moved on" in page_of(signed_in, sealed)
    assert not sealed.events.filter(kind=StageEvent.Kind.UNDO).exists()


def test_it_is_changed(signed_in):
    decal, other = make_decal(), make_artwork(name="Shield")
    data = {"place": "Tail", "artwork": other.pk, "build": "clear_alone", "note": "small"}
    data["upright"] = "on"
    response = signed_in.post(address(decal, "decal-change"), data)
    assert response["Location"] == address(decal)
    decal.refresh_from_db()
    assert (decal.place, decal.artwork, decal.note) == ("Tail", other, "small")
    assert decal.build == Build.CLEAR_ALONE
    assert decal.upright


def test_its_art_and_build_stay_once_pieces_lie_on_a_sheet(signed_in, sealed):
    other = make_artwork(name="Shield")
    data = {"place": "Tail", "artwork": other.pk, "build": "clear_alone"}
    assert "stays: pieces" in signed_in.get(address(sealed, "decal-change")).content.decode()
    signed_in.post(address(sealed, "decal-change"), data)
    sealed.refresh_from_db()
    assert sealed.place == "Tail"
    assert sealed.build == Build.LAMINATED
    assert sealed.artwork != other


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"place": ""}, "required"),
        ({"place": "x" * 121}, "120"),
        ({"place": "Right side"}, "for this place already"),
        ({"artwork": "x"}, "valid choice"),
        ({"artwork": "9" * 30}, "valid choice"),
        ({"build": "paper"}, "valid choice"),
        ({"note": "x" * 201}, "200"),
    ],
)
def test_it_rejects_wrong_changes_beside_their_field(signed_in, change, said):
    decal = make_decal(place="Left side")
    make_decal(place="Right side", project=decal.project)
    start = {"place": "Left side", "artwork": decal.artwork_id, "build": "laminated", "note": ""}
    page = signed_in.post(address(decal, "decal-change"), {**start, **change}).content.decode()
    (name,) = change
    assert said in page.split(f'id="id_{name}_error"')[1].split("</ul>")[0]


@pytest.mark.parametrize("place", ["مقدمة <script>", "🚋 dash", "{{ 7 }}"])
def test_any_writing_can_name_a_place_and_is_shown_as_typed(signed_in, place):
    decal = make_decal(place=place)
    page = page_of(signed_in, decal)
    assert place.replace("<", "&lt;").replace(">", "&gt;") in page
    assert "<script>" not in page


def test_it_is_removed_while_nothing_is_logged(signed_in):
    decal = make_decal()
    assert "Remove it" in page_of(signed_in, decal)
    response = signed_in.post(address(decal, "decal-drop"))
    assert response["Location"] == decal.project.get_absolute_url()
    assert not Decal.objects.filter(pk=decal.pk).exists()


def test_it_rejects_removing_what_has_a_log(signed_in, sealed):
    assert "Remove it" not in page_of(signed_in, sealed)
    signed_in.post(address(sealed, "decal-drop"))
    assert "cannot be removed" in page_of(signed_in, sealed)
    assert Decal.objects.filter(pk=sealed.pk).exists()


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
