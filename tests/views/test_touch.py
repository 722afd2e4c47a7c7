"""The finger's word and the carrying of things, by their buttons."""

from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse

from decaljobs.craft.stages import Stage
from decaljobs.services.bench import steps
from decaljobs.services.drying import rooms
from decaljobs.services.film import sheets
from tests.factories import EVENING, make_decal, make_sheet, sealed_decal

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


@pytest.fixture(autouse=True)
def _an_hour_later():
    with time_machine.travel(EVENING + HOUR, tick=False):
        yield


@pytest.fixture
def printed(maker):
    decal, sheet = make_decal(), make_sheet()
    sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=1)
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING)
    return sheet


def test_not_yet_is_logged_and_says_when_to_look_again(signed_in, drying):
    url = reverse("decal-not-yet", args=[drying.pk])
    page = signed_in.post(url, {"seen": drying.events_logged}, follow=True).content.decode()
    drying.refresh_from_db()
    assert drying.ready_at == EVENING + 15 * HOUR
    assert "Look again tomorrow 10:00" in page
    assert "(3 added by touch)" in page


def test_an_outdated_page_or_a_wrong_time_logs_nothing(signed_in, drying):
    url = reverse("decal-not-yet", args=[drying.pk])
    before = drying.events_logged
    page = signed_in.post(url, {"seen": 1}, follow=True).content.decode()
    assert "has moved on" in page
    page = signed_in.post(url, {"at": "23:00"}, follow=True).content.decode()
    assert "still to come" in page
    page = signed_in.post(url, {"at": "never"}, follow=True).content.decode()
    assert "Write a time" in page
    drying.refresh_from_db()
    assert drying.events_logged == before


def test_a_sheet_is_called_dry_or_not_yet(signed_in, printed):
    url = reverse("sheet-touch", args=[printed.code])
    signed_in.post(url, {"finger": "not_yet"})
    printed.refresh_from_db()
    assert printed.rested_at == EVENING + 15 * HOUR
    page = signed_in.post(url, {"finger": "dry"}, follow=True).content.decode()
    printed.refresh_from_db()
    assert printed.rested_at == EVENING + HOUR
    assert "dry to the touch" in page
    page = signed_in.post(url, {"finger": "dry"}, follow=True).content.decode()
    assert "Nothing dries on sheet" in page


def test_a_sheet_needs_one_of_the_two_buttons(signed_in, printed):
    url = reverse("sheet-touch", args=[printed.code])
    page = signed_in.post(url, {}, follow=True).content.decode()
    assert "Press one of the two buttons" in page


def test_the_whole_model_is_carried_or_one_decal_alone(signed_in, maker, drying):
    other = sealed_decal(maker, project=drying.project)
    steps.log_step(decals=[other.pk], step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    shed = rooms.add_room(name="Shed", kind="shed")
    url = reverse("decal-move", args=[drying.pk])
    signed_in.post(url, {"room": shed.pk})
    other.refresh_from_db()
    assert other.room is None
    page = signed_in.post(url, {"room": shed.pk, "whole": "on"}, follow=True).content.decode()
    other.refresh_from_db()
    assert other.room == shed
    assert "It lies in ‘Shed’" in page


def test_a_room_that_is_not_there_is_refused(signed_in, drying, printed):
    page = signed_in.post(reverse("decal-move", args=[drying.pk]), {"room": 99}, follow=True)
    assert "Select a valid choice" in page.content.decode()
    url = reverse("sheet-move", args=[printed.code])
    assert "This field is required" in signed_in.post(url, {}, follow=True).content.decode()


def test_a_sheet_is_carried(signed_in, printed):
    shed = rooms.add_room(name="Shed", kind="shed")
    signed_in.post(reverse("sheet-move", args=[printed.code]), {"room": shed.pk})
    printed.refresh_from_db()
    assert printed.room == shed


def test_onlookers_touch_nothing(client, onlooker, drying, printed):
    client.force_login(onlooker)
    for name, key in (("decal-not-yet", drying.pk), ("decal-move", drying.pk)):
        assert client.post(reverse(name, args=[key])).status_code == 403
    for name in ("sheet-touch", "sheet-move"):
        assert client.post(reverse(name, args=[printed.code])).status_code == 403


def test_the_sheet_page_tells_the_spraying_weather_before_a_coat(signed_in, printed):
    page = signed_in.get(printed.get_absolute_url()).content.decode()
    assert "Spraying weather: not known." in page
    rooms.add_reading(
        room=printed.events.get().room_id,
        at=EVENING + HOUR,
        temperature=20,
        humidity=90,
        moment=EVENING + HOUR,
    )
    page = signed_in.get(printed.get_absolute_url()).content.decode()
    assert "Spraying weather: no." in page
    assert "90 %RH" in page


def test_the_log_tells_the_room_and_the_figures_that_were_used(signed_in, drying):
    signed_in.post(reverse("decal-not-yet", args=[drying.pk]))
    page = signed_in.get(drying.get_absolute_url()).content.decode()
    assert "Workshop, 20 °C and 50 % RH, not read; 1 of 12 reference hours" in page
