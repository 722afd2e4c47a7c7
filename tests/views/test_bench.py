"""The bench page: its three lists, filters, pages, and logging several decals at one go."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from decaljobs.craft.stages import Build, Film, Hold, Stage
from decaljobs.models import Decal, Room, StageEvent
from decaljobs.services.bench import spoiling, steps
from decaljobs.services.film import sheets
from tests.factories import (
    EVENING,
    make_artwork,
    make_decal,
    make_decals,
    make_person,
    make_project,
    make_sheet,
    sealed_decal,
    sealed_sheet,
)
from tests.queues import queue_up

pytestmark = pytest.mark.usefixtures("in_the_evening")

LOG = "/bench/log/"


def seen(*decals):
    return {f"seen-{decal.pk}": decal.events_logged for decal in decals}


def section_of(page: str, name: str) -> str:
    """The part of the page between a list's heading and the next section."""
    return page.split(f'id="{name}"')[1].split("<section")[0]


def page_of(client, address: str = "/") -> str:
    response = client.get(address)
    assert response.status_code == 200
    return response.content.decode()


def lay_base(decal, by, hours_ago: float = 0):
    at = EVENING - timedelta(hours=hours_ago)
    steps.log_step(decals=[decal.pk], step=Stage.BASE_APPLIED, by=by, moment=EVENING, at=at)


def test_it_requires_somebody_signed_in(client, db):
    assert client.get("/").status_code == 302
    assert client.post(LOG).status_code == 302


def test_an_empty_bench_says_how_to_begin(signed_in):
    page = page_of(signed_in)
    assert "Nothing is on the bench yet" in page
    assert 'href="/projects/new/"' in page
    assert "<title>(0) Bench</title>" in page


def test_a_ready_row_says_why_and_what_to_heed_and_has_one_button(signed_in, sealed):
    page = page_of(signed_in)
    ready = section_of(page, "ready")
    assert "Left side" in ready
    assert "\u2068Harbour launch\u2069, 1:72" in ready
    assert "sealed and dry since" in ready
    assert "The blade is sharp" in ready
    assert "lead" in ready
    assert f'value="{sealed.pk}:base_applied">Base applied</button>' in ready
    assert ready.index("The blade is sharp") < ready.index("Base applied</button>")
    assert "<title>(1) Bench</title>" in page


def test_a_drying_row_tells_how_far_it_is_in_figures(signed_in, maker, sealed):
    lay_base(sealed, maker, hours_ago=7.4)
    drying = section_of(page_of(signed_in), "drying")
    assert "Base drying: 7.4 of 12 reference hours." in drying
    assert "today 23:36" in drying
    assert "then clear layer" in drying


def test_a_drying_row_names_the_sheet_when_that_is_what_dries(signed_in, maker):
    decal = make_decal(Build.WHITE_ALONE)
    sheet = make_sheet(Film.WHITE, coats_wanted=1)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=1)
    at = EVENING - timedelta(hours=20)
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING, at=at)
    sheets.log_coat(sheet=sheet.pk, by=maker, moment=EVENING, at=EVENING - timedelta(hours=1))
    drying = section_of(page_of(signed_in), "drying")
    assert f"Sheet {sheet.code} drying: 1 of" in drying
    assert "on its sheet" in drying  # the drawing, in words


def test_a_held_row_gives_the_reason_and_where_to_see_to_it(signed_in):
    decal = make_decal()
    held = section_of(page_of(signed_in), "held")
    assert decal.place in held
    assert "No piece on a sheet yet" in held
    assert f'href="/decals/{decal.pk}/sheet/"' in held


def test_what_never_dries_leads_to_the_air_of_the_room_it_lies_in(signed_in, drying):
    room = Room.objects.get(is_default=True)
    Decal.objects.update(held_because=Hold.NEVER_DRIES.value, ready_at=None)
    held = section_of(page_of(signed_in), "held")
    assert "It will not dry in this room" in held
    assert f'href="/drying/?room={room.pk}"' in held and room.name in held
    assert f'href="/drying/?room={room.pk}"' in page_of(signed_in, drying.get_absolute_url())


def test_a_drying_row_says_why_its_time_is_later_than_its_wait(signed_in, maker):
    decal = sealed_decal(maker, Build.WHITE_ALONE, project=make_project(overcoat=True))
    lay_base(decal, maker, hours_ago=7.4)
    drying = section_of(page_of(signed_in), "drying")
    decal.refresh_from_db()
    assert decal.ready_at > EVENING + timedelta(hours=24)
    assert "Base drying: 7.4 of 12 reference hours; then it rests before the overcoat" in drying


def test_a_row_without_a_rest_says_nothing_of_one(signed_in, maker, sealed):
    lay_base(sealed, maker, hours_ago=7.4)
    assert "rests" not in section_of(page_of(signed_in), "drying")


def test_a_queued_row_leads_on_to_the_next_sheet(signed_in, maker):
    decal = make_decal()
    queue_up(maker, decal)
    held = section_of(page_of(signed_in), "held")
    assert f'<a href="{reverse("sheet-next")}">Queued: lay out the next sheet</a>' in held
    assert f'formaction="{reverse("sheet-queue")}"' not in held


def test_a_held_row_leads_to_the_sheet_that_is_to_be_printed(signed_in):
    decal = make_decal(Build.WHITE_ALONE)
    sheet = make_sheet(Film.WHITE)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=1)
    held = section_of(page_of(signed_in), "held")
    assert f"Sheet {sheet.code} is not printed yet." in held
    assert f'href="/sheets/{sheet.code}/"' in held


def test_a_sheet_that_wants_its_next_coat_is_a_row_that_posts_to_the_sheet(signed_in, maker):
    sheet = make_sheet(Film.WHITE, coats_wanted=4)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[make_decal().pk], copies=1)
    at = EVENING - timedelta(hours=40)
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING, at=at)
    ready = section_of(page_of(signed_in), "ready")
    assert "Coat 1 of 4 sprayed" in ready
    assert f'formaction="/sheets/{sheet.code}/coat/?next=%2F" name="seen" value="1"' in ready
    sheets.log_coat(sheet=sheet.pk, by=maker, moment=EVENING)
    page = page_of(signed_in)
    assert f"Sheet {sheet.code}" in section_of(page, "drying")
    assert "then coat 2 of 4" in page
    assert "0 ready, 1 drying, 1 held" in page


def test_a_sheet_without_a_good_piece_is_not_on_the_bench(signed_in, maker):
    sheet = make_sheet(Film.WHITE)
    (piece,) = sheets.put_on_sheet(sheet=sheet.pk, decals=[make_decal().pk], copies=1)
    at = EVENING - timedelta(hours=40)
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING, at=at)
    spoiling.spoil_piece(piece=piece.pk, by=maker, moment=EVENING)
    assert f"Sheet {sheet.code}</a>" not in page_of(signed_in)


def test_a_surface_to_be_cleaned_comes_first(signed_in, maker, sealed):
    lay_base(sealed, maker)
    sealed.refresh_from_db()
    spoiling.spoil_layer(decal=sealed.pk, layer="base", by=maker, moment=EVENING, reason="torn")
    assert "First: Take the spoiled film off wet" in section_of(page_of(signed_in), "ready")


def test_one_row_is_logged_by_its_own_button(signed_in, maker, sealed):
    data = {"one": f"{sealed.pk}:base_applied", **seen(sealed)}
    response = signed_in.post(LOG, data, follow=True)
    assert response.redirect_chain == [("/", 302)]
    page = response.content.decode()
    logged = page.split('class="logged"')[1].split("</section>")[0]
    assert "<h2>Base applied: Left side.</h2>" in logged
    assert ">Left side</a>" in logged
    assert f'action="/decals/{sealed.pk}/undo/"' in page
    event = sealed.events.latest("number")
    assert (event.to_stage, event.by, event.how) == ("base_applied", maker, "hand")
    assert f'action="/decals/{sealed.pk}/undo/"' in page_of(signed_in)


def test_several_are_logged_at_one_go(signed_in, maker):
    decals = make_decals(3, Build.WHITE_ALONE, place="Wheel")
    sealed_sheet(Film.WHITE, decals, maker)
    for decal in decals:
        decal.refresh_from_db()
    data = {"decal": [decals[0].pk, decals[2].pk], "step": "base_applied", **seen(*decals)}
    page = signed_in.post(LOG, data, follow=True).content.decode()
    assert "<h2>Base applied: 2 decals</h2>" in page
    stages = [type(d).objects.get(pk=d.pk).stage for d in decals]
    assert stages == ["base_applied", "sealed", "base_applied"]


def test_filters_and_pages_are_kept_through_logging(signed_in, sealed):
    data = {"one": f"{sealed.pk}:base_applied", **seen(sealed)}
    response = signed_in.post(f"{LOG}?layer=base&ready=2", data)
    assert response["Location"] == "/?layer=base&ready=2"


def test_an_earlier_time_can_be_given(signed_in, sealed):
    data = {"one": f"{sealed.pk}:base_applied", "at": "yesterday 21:40", **seen(sealed)}
    signed_in.post(LOG, data)
    assert sealed.events.latest("number").at == EVENING - timedelta(hours=21, minutes=20)


def test_it_rejects_a_time_in_the_future_beside_its_field_and_keeps_ticks(signed_in, sealed):
    data = {"decal": [sealed.pk], "step": "base_applied", "at": "23:59", **seen(sealed)}
    response = signed_in.post(LOG, data)
    assert response.status_code == 422
    page = response.content.decode()
    assert "still to come" in page.split('id="id_at_error"')[1].split("</ul>")[0]
    assert 'value="23:59"' in page
    assert re.search(rf'value="{sealed.pk}" id="tick-{sealed.pk}"[^>]* checked', page)
    assert not sealed.events.filter(to_stage="base_applied").exists()


def test_it_rejects_words_for_a_time(signed_in, sealed):
    data = {"decal": [sealed.pk], "step": "base_applied", "at": "<b>soon</b>", **seen(sealed)}
    page = signed_in.post(LOG, data).content.decode()
    assert "Write a time such as" in page
    assert "&lt;b&gt;soon&lt;/b&gt;" in page


def test_it_rejects_a_step_before_its_time_until_a_reason_is_given(signed_in, maker, sealed):
    lay_base(sealed, maker, hours_ago=2)
    sealed.refresh_from_db()
    data = {"one": f"{sealed.pk}:clear_applied", **seen(sealed)}
    response = signed_in.post(LOG, data)
    assert response.status_code == 422
    reason = response.content.decode().split('id="id_reason_error"')[1].split("</ul>")[0]
    assert "not ready" in reason
    signed_in.post(LOG, {**data, "reason": "the hair dryer helped"})
    event = sealed.events.latest("number")
    assert (event.how, event.reason) == ("early", "the hair dryer helped")


def test_two_makers_make_one_event_and_the_second_is_told(signed_in, sealed):
    other = Client()
    other.force_login(make_person(username="nils"))
    data = {"one": f"{sealed.pk}:base_applied", **seen(sealed)}
    assert other.post(LOG, data).status_code == 302
    response = signed_in.post(LOG, data)
    assert response.status_code == 422
    page = response.content.decode()
    assert "has moved on" in page
    assert "by nils" in page
    assert sealed.events.filter(to_stage="base_applied").count() == 1


def test_it_rejects_nothing_ticked(signed_in, sealed):
    response = signed_in.post(LOG, {"step": "base_applied"})
    assert response.status_code == 422
    assert "Nothing is ticked" in response.content.decode()


@pytest.mark.parametrize(
    "data",
    [
        {"one": "x"},
        {"one": "1:printed"},
        {"decal": ["-1"], "step": "base_applied"},
        {"decal": ["9" * 30], "step": "base_applied"},
        {"decal": ["999999"], "step": "base_applied"},
        {"decal": ["1"], "step": "cured"},
        {"decal": ["1"]},
        {"one": "1:base_applied", "reason": "x" * 301},
    ],
)
def test_it_rejects_nonsense_and_logs_nothing(signed_in, sealed, data):
    lines = StageEvent.objects.count()
    assert signed_in.post(LOG, data).status_code == 422
    assert StageEvent.objects.count() == lines


def test_it_rejects_an_onlooker(client, onlooker, sealed):
    client.force_login(onlooker)
    page = page_of(client)
    assert "Left side" in page
    assert "Base applied</button>" not in page
    assert 'type="checkbox"' not in page
    assert client.post(LOG, {"one": f"{sealed.pk}:base_applied"}).status_code == 403


def test_it_shows_only_what_is_asked_for(signed_in, maker):
    here = make_project(name="Tram", code="T-1")
    sealed_decal(maker, place="Dash", project=here)
    sealed_decal(maker, Build.CLEAR_ALONE, place="Roof")
    assert "1 ready" in page_of(signed_in, "/?project=T-1")
    assert "Roof" not in page_of(signed_in, "/?project=T-1")
    assert "Dash" not in page_of(signed_in, "/?layer=clear")
    assert "Roof" in page_of(signed_in, "/?layer=clear")
    assert "Dash" in page_of(signed_in, "/?step=base_applied")
    assert "Roof" not in page_of(signed_in, "/?step=base_applied")
    assert "1 ready" in page_of(signed_in, "/?q=roof")
    assert "Nothing of what you asked for" in page_of(signed_in, "/?q=zebra")


@pytest.mark.parametrize(
    "query", ["project=none", "layer=%00", "step=cured", "q=" + "x" * 200, "ready=-1&drying=x"]
)
def test_nonsense_in_the_address_is_passed_over(signed_in, sealed, query):
    assert "Left side" in page_of(signed_in, f"/?{query}")


def test_fifty_rows_to_a_page_and_the_other_lists_stay_where_they_are(signed_in, maker):
    decals = make_decals(53, Build.WHITE_ALONE, place="Wheel")
    sealed_sheet(Film.WHITE, decals, maker, copies=1)
    make_decals(51, Build.WHITE_ALONE, place="Door")
    page = page_of(signed_in)
    assert "53 ready, 0 drying, 51 held" in page
    assert section_of(page, "ready").count("Base applied</button>") == 50
    assert 'href="?ready=2"' in page
    second = page_of(signed_in, "/?ready=2&held=2")
    assert section_of(second, "ready").count("Base applied</button>") == 3
    assert 'href="?ready=1&amp;held=2"' in second


def test_htmx_gets_the_lists_and_a_restored_page_gets_everything(signed_in, sealed):
    part = signed_in.get("/", headers={"HX-Request": "true"})
    assert "<html" not in part.content.decode()
    assert "<title>(1) Bench</title>" in part.content.decode()
    assert "HX-Request" in part["Vary"]
    restored = signed_in.get(
        "/", headers={"HX-Request": "true", "HX-History-Restore-Request": "true"}
    )
    assert "<html" in restored.content.decode()


def test_the_refreshing_part_holds_nothing_that_is_typed(signed_in, sealed):
    part = signed_in.get("/", headers={"HX-Request": "true"}).content.decode()
    assert 'name="at"' not in part
    assert f'name="seen-{sealed.pk}"' in part


def test_it_asks_for_nothing_that_the_policy_forbids(signed_in, maker, sealed):
    lay_base(sealed, maker, hours_ago=1)
    page = page_of(signed_in)
    assert " style=" not in page
    assert "<style" not in page
    assert not re.search(r"<script(?![^>]*\bsrc=)", page)
    assert not re.search(r"\son[a-z]+=", page)


def filled_bench(maker, number: int) -> None:
    """So many ready, drying and held decals, and a sheet that wants a coat in each list."""
    project, artwork = make_project(), make_artwork()
    ready = make_decals(number, place="Ready", project=project, artwork=artwork)
    drying = make_decals(number, place="Drying", project=project, artwork=artwork)
    make_decals(number, place="Held", project=project, artwork=artwork)
    for film in Film:
        sealed_sheet(film, [*ready, *drying], maker, copies=1)
    at = EVENING - timedelta(hours=2)
    steps.log_step(
        decals=[d.pk for d in drying], step=Stage.BASE_APPLIED, by=maker, moment=EVENING, at=at
    )
    for hours in (40, 1):
        sheet = make_sheet(Film.WHITE)
        sheets.put_on_sheet(sheet=sheet.pk, decals=[ready[0].pk], copies=1)
        at = EVENING - timedelta(hours=hours)
        sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING, at=at)


@pytest.mark.parametrize("number", [1, 30])
def test_its_queries_do_not_grow_with_the_bench(
    signed_in, maker, number, django_assert_num_queries
):
    filled_bench(maker, number)
    with django_assert_num_queries(12):
        page = page_of(signed_in)
    assert f"{number + 1} ready, {number + 1} drying, {number} held" in page


def test_it_fetches_what_is_planned_for_tonight(signed_in):
    assert 'hx-get="/plan/tonight/" hx-trigger="load"' in page_of(signed_in)
