"""The devices that people are signed in with: noted, listed, signed out."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.contrib.sessions.models import Session
from django.db import transaction

from decaljobs.models import Device, Person

#: A device is noted anew only after so long, so that looking at pages writes next to nothing.
NOTED_EVERY = timedelta(minutes=10)
#: How long a link for one more device lets somebody in.
LINK_LASTS = timedelta(minutes=10)

#: In this order: what pretends to be another comes first.
_BROWSERS = (
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("SamsungBrowser", "Samsung browser"),
    ("Firefox", "Firefox"),
    ("FxiOS", "Firefox"),
    ("CriOS", "Chrome"),
    ("Chrome", "Chrome"),
    ("Safari", "Safari"),
)
_SYSTEMS = (
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("Mac OS", "Mac"),
    ("CrOS", "Chromebook"),
    ("Linux", "Linux"),
)


def device_name(agent: str) -> str:
    """A browser's word about itself, in two words of ours: 'Firefox on Android'."""
    browser = next((name for mark, name in _BROWSERS if mark in agent), "A browser")
    system = next((name for mark, name in _SYSTEMS if mark in agent), "")
    return f"{browser} on {system}" if system else browser


@transaction.atomic
def note_device(*, session_key: str, person: Person, agent: str, moment: datetime) -> None:
    """Keep that a person was seen with the browser that holds this session."""
    if not Session.objects.filter(session_key=session_key).exists():
        return
    device, is_new = Device.objects.get_or_create(
        session_id=session_key,
        defaults={
            "person": person,
            "name": device_name(agent),
            "came_at": moment,
            "seen_at": moment,
        },
    )
    if is_new:
        Session.objects.filter(expire_date__lt=moment).delete()
    elif moment > device.seen_at:
        device.person, device.seen_at = person, moment
        device.save(update_fields=["person", "seen_at"])


def sign_out_device(*, device: Device) -> None:
    """Take a device's way in away; it goes with its session."""
    Session.objects.filter(pk=device.session_id).delete()


def sign_out_all(*, person: Person, staying: str = "") -> None:
    """Take the way in of all of a person's devices away, but for the session that stays."""
    Session.objects.filter(device__person=person).exclude(pk=staying).delete()
