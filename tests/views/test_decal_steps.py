"""A decal's page: steps logged, touched and undone, layers spoiled."""

from datetime import timedelta

import pytest

from decaljobs.craft.stages import Stage
from decaljobs.models import StageEvent
from tests.factories import (
    EVENING,
)
from tests.views.decalpages import address, lay, page_of, post

pytestmark = pytest.mark.usefixtures("in_the_evening")


def test_the_next_step_is_logged(signed_in, maker, sealed):
    response = post(signed_in, sealed, "decal-log", step="base_applied", at="yesterday 21:40")
    assert response["Location"] == address(sealed)
    event = sealed.events.latest("number")
    assert (event.to_stage, event.by) == ("base_applied", maker)
    assert event.at == EVENING - timedelta(hours=21, minutes=20)
    page = page_of(signed_in, sealed)
    assert "Base applied: Left side." in page


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
