"""Bringing a device in by a QR code, the list of devices, and signing one out."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from decaljobs.models import Device
from tests.factories import EVENING

pytestmark = pytest.mark.usefixtures("in_the_evening")

NEW = "/settings/devices/new/"


def way_in(page: str) -> str:
    """The path of the link that the page shows."""
    return re.search(r'value="https?://[^/"]+(/enter/[^"]+)"', page)[1]


def test_it_shows_a_qr_code_of_a_link_that_signs_one_device_in(signed_in, maker):
    page = signed_in.post(NEW).content.decode()
    assert '<svg class="qr"' in page
    assert "once, until today 19:10" in page
    phone = Client(headers={"user-agent": "Mozilla/5.0 (Android 16; Mobile) Firefox/140.0"})
    assert phone.get(way_in(page))["Location"] == "/"
    assert phone.get("/settings/devices/").context["user"] == maker
    assert Client().get(way_in(page)).status_code == 410
    assert "Firefox on Android" in signed_in.get("/settings/devices/").content.decode()


def test_the_link_runs_out_after_ten_minutes(signed_in):
    link = way_in(signed_in.post(NEW).content.decode())
    with time_machine.travel(EVENING + timedelta(minutes=10, seconds=1), tick=False):
        assert Client().get(link).status_code == 410


def test_looking_at_the_page_makes_no_link(signed_in):
    page = signed_in.get(NEW).content.decode()
    assert "/enter/" not in page
    assert "<svg class=" not in page


def test_it_says_when_no_other_device_can_open_the_address(signed_in, settings):
    here = {"HTTP_HOST": "127.0.0.1:8000"}
    assert "start --lan" in signed_in.get(NEW, **here).content.decode()
    settings.SITE_ADDRESS = "http://192.168.4.20:8000"
    page = signed_in.post(NEW, **here).content.decode()
    assert "start --lan" not in page
    assert 'value="http://192.168.4.20:8000/enter/' in page


def test_a_device_that_was_signed_out_is_led_to_the_door(signed_in, maker):
    phone = Client()
    phone.force_login(maker)
    device = Device.objects.get(session=phone.session.session_key)
    answer = signed_in.post(f"/settings/devices/{device.pk}/sign-out/", follow=True)
    assert "is signed out" in answer.content.decode()
    assert phone.get("/")["Location"].startswith("/sign-in/")
    assert signed_in.get("/").status_code == 200


def test_a_device_may_sign_itself_out(signed_in):
    device = Device.objects.get()
    assert signed_in.post(f"/settings/devices/{device.pk}/sign-out/")["Location"] == "/sign-in/"
    assert signed_in.get("/").status_code == 302
    assert not Device.objects.exists()


def test_nobody_but_the_owner_sees_or_ends_the_devices_of_others(signed_in, maker, owner):
    other = Client()
    other.force_login(owner)
    device = Device.objects.get(person=owner)
    page = signed_in.get("/settings/devices/").content.decode()
    assert "olle" not in page
    assert signed_in.post(f"/settings/devices/{device.pk}/sign-out/").status_code == 403
    assert other.get("/").status_code == 200
    assert "mara" in other.get("/settings/devices/").content.decode()


def test_when_a_device_was_last_seen_is_noted_to_ten_minutes(signed_in):
    for minutes, noted in ((5, 0), (11, 11), (15, 11), (22, 22)):
        with time_machine.travel(EVENING + timedelta(minutes=minutes), tick=False):
            signed_in.get("/")
        assert Device.objects.get().seen_at == EVENING + timedelta(minutes=noted)


@pytest.mark.parametrize("number", [1, 20])
def test_it_lists_devices_with_the_same_queries_for_any_number(
    signed_in, maker, number, django_assert_num_queries
):
    for _ in range(number):
        Client().force_login(maker)
    with django_assert_num_queries(4):
        page = signed_in.get("/settings/devices/").content.decode()
    assert page.count('Sign out<span class="unseen">') == number + 1
