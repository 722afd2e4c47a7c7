"""Ways to the page of a decal and its forms, for the tests of them."""

from datetime import timedelta

from django.urls import reverse

from decaljobs.craft.stages import Stage
from decaljobs.models import Decal
from decaljobs.services.bench import steps
from tests.factories import (
    EVENING,
)


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
