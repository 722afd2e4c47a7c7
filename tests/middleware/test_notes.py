"""What is only noted beside an answer never spoils it: not on a full disk either."""

from datetime import timedelta

import pytest
from django.db import OperationalError
from django.urls import reverse
from django.utils import timezone

from decaljobs.middleware import deeds, devices, replanning
from decaljobs.models import Deed
from decaljobs.services.people.devices import NOTED_EVERY
from tests.factories import make_artwork

pytestmark = pytest.mark.django_db


def full(**_):
    raise OperationalError("database or disk is full")


def test_what_was_done_is_said_to_be_done_though_it_was_not_noted(signed_in, monkeypatch):
    monkeypatch.setattr(deeds, "note_deed", full)
    monkeypatch.setattr(replanning.plans, "follow_change", full)
    artwork = make_artwork()
    form = {"name": "New name", "width_mm": "20"}
    answer = signed_in.post(reverse("artwork-change", args=[artwork.pk]), form)
    assert answer.status_code == 302
    artwork.refresh_from_db()
    assert artwork.name == "New name" and not Deed.objects.exists()


def test_pages_are_read_though_the_device_cannot_be_noted(signed_in, monkeypatch, time_machine):
    assert signed_in.get(reverse("bench")).status_code == 200
    asked = []
    monkeypatch.setattr(devices, "note_device", lambda **given: asked.append(given) or full())
    time_machine.move_to(timezone.now() + NOTED_EVERY + timedelta(minutes=1))
    assert signed_in.get(reverse("bench")).status_code == 200
    assert asked
