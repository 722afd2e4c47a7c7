"""Noting, on the way of each request, which device somebody is signed in with."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib.auth.signals import user_logged_in
from django.dispatch import receiver
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from decaljobs.middleware import Answer, noted_if_there_is_room
from decaljobs.models import Person
from decaljobs.services.people.devices import NOTED_EVERY, note_device

MARK = "device"


@receiver(user_logged_in)
def came_in(sender: type, request: HttpRequest, user: Person, **rest: Any) -> None:
    """Somebody has just signed in: their device is one more on the list."""
    if request.session.session_key is None:
        request.session.save()
    _note(request, user, timezone.now())


def note_devices(get_response: Answer) -> Answer:
    """Middleware that keeps when each device was last seen, to the ten minutes."""

    def noted(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        # A page for which nobody was asked who they are costs no look at the records.
        if request.session.accessed and request.user.is_authenticated:
            moment = timezone.now()
            if not _is_fresh(request.session.get(MARK), request.session.session_key, moment):
                with noted_if_there_is_room():
                    _note(request, request.user, moment)
        return response

    return noted


def _is_fresh(mark: Any, session_key: str | None, moment: datetime) -> bool:
    if not session_key or not mark:
        return not session_key  # nothing to note by yet
    return mark[0] == session_key and moment - datetime.fromisoformat(mark[1]) < NOTED_EVERY


def _note(request: HttpRequest, person: Person, moment: datetime) -> None:
    session_key = request.session.session_key
    agent = request.META.get("HTTP_USER_AGENT", "")
    note_device(session_key=session_key, person=person, agent=agent, moment=moment)
    request.session[MARK] = [session_key, moment.isoformat()]
