"""The devices that people are signed in with."""

from datetime import timedelta

import pytest
from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.models import Session

from decaljobs.models import Device
from decaljobs.services.people.devices import (
    device_name,
    note_device,
    sign_out_all,
    sign_out_device,
)
from tests.factories import EVENING

PHONE = (
    "Mozilla/5.0 (Linux; Android 16; K) AppleWebKit/537.36 (KHTML, like Gecko)"
    " Chrome/150.0.0.0 Mobile Safari/537.36"
)


def noted(person, agent=PHONE, moment=EVENING) -> Device:
    store = SessionStore()
    store.create()
    Session.objects.filter(pk=store.session_key).update(expire_date=moment + timedelta(days=60))
    note_device(session_key=store.session_key, person=person, agent=agent, moment=moment)
    return Device.objects.get(session=store.session_key)


@pytest.mark.parametrize(
    ("agent", "name"),
    [
        (PHONE, "Chrome on Android"),
        ("Mozilla/5.0 (iPhone; CPU iPhone OS 19_0 like Mac OS X) Safari/605", "Safari on iPhone"),
        ("Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Firefox/140.0", "Firefox on Linux"),
        ("Mozilla/5.0 (Windows NT 10.0) Chrome/150.0 Safari/537 Edg/150.0", "Edge on Windows"),
        ("", "A browser"),
    ],
)
def test_it_names_a_device_by_what_its_browser_says(agent, name):
    assert device_name(agent) == name


def test_it_keeps_when_a_device_was_last_seen(maker):
    device = noted(maker)
    later = EVENING + timedelta(hours=2)
    note_device(session_key=device.session_id, person=maker, agent="", moment=later)
    device.refresh_from_db()
    assert (device.came_at, device.seen_at, device.name) == (EVENING, later, "Chrome on Android")
    note_device(session_key=device.session_id, person=maker, agent="", moment=EVENING)
    device.refresh_from_db()
    assert device.seen_at == later


@pytest.mark.django_db
def test_it_notes_nothing_for_a_session_that_is_gone(maker):
    note_device(session_key="gone", person=maker, agent="", moment=EVENING)
    assert not Device.objects.exists()


def test_a_device_signed_out_goes_with_its_session(maker):
    device = noted(maker)
    sign_out_device(device=device)
    assert not Device.objects.exists()
    assert not Session.objects.filter(pk=device.session_id).exists()


def test_all_but_the_one_that_stays_are_signed_out(maker, owner):
    staying, going, others = noted(maker), noted(maker), noted(owner)
    sign_out_all(person=maker, staying=staying.session_id)
    assert set(Device.objects.all()) == {staying, others}
    assert going not in Device.objects.all()


def test_a_device_whose_session_ran_out_is_not_listed_and_is_swept(maker):
    device = noted(maker)
    later = EVENING + timedelta(days=61)
    assert list(Device.objects.let_in(maker, EVENING)) == [device]
    assert not Device.objects.let_in(maker, later)
    newer = noted(maker, moment=later)
    assert list(Device.objects.all()) == [newer]
