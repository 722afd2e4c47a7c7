"""A full disk and a database that is away are said, not shown as faults of ours."""

import re
from datetime import timedelta

import pytest
from django.db import OperationalError, connection
from django.urls import reverse
from django.utils import timezone

from decaljobs.services.safekeeping.backups import Occasion, take_into_folder
from tests.factories import make_artwork

pytestmark = pytest.mark.django_db


@pytest.fixture
def stumbling(signed_in, monkeypatch):
    """A client whose next form meets an error in the middle of being saved."""
    signed_in.raise_request_exception = False

    def meet(error):
        def stumble(**kwargs):
            raise error

        monkeypatch.setattr("decaljobs.views.artwork.change_artwork", stumble)
        url = reverse("artwork-change", args=[make_artwork().pk])
        return signed_in.post(url, {"name": "Badge", "width_mm": "18.5"})

    return meet


@pytest.mark.parametrize(
    "error",
    [
        OSError(28, "No space left on device"),
        OperationalError("database or disk is full"),
        OperationalError('could not extend file "base/1": No space left on device'),
    ],
)
def test_a_full_disk_is_said(stumbling, error):
    answer = stumbling(error)
    assert answer.status_code == 507 and "The disk is full" in answer.content.decode()


def test_a_database_that_is_away_is_said(stumbling):
    answer = stumbling(OperationalError("server closed the connection unexpectedly"))
    assert answer.status_code == 503 and answer["Retry-After"] == "10"
    assert "The records do not answer" in answer.content.decode()


def test_a_fault_of_ours_is_our_fault_and_tells_no_secrets(stumbling):
    answer = stumbling(ValueError("secret"))
    assert answer.status_code == 500
    assert "The fault is ours" in answer.content.decode() and b"secret" not in answer.content


def test_health_tells_a_stranger_no_more_than_how_it_stands(client, db):
    """No names, no addresses, no paths: five lines of these words and no others."""
    take_into_folder(Occasion.DAILY, moment=timezone.now() - timedelta(hours=3))
    words = client.get("/health").content.decode()
    said = (
        r"well\ndatabase: answers\nworker: (is there|not heard of)\n"
        r"disk: \d+ GB free\nlast backup: 3\xa0hours ago\n"
    )
    assert re.fullmatch(said, words), words


def test_health_says_what_is_unwell(client, monkeypatch):
    answer = client.get("/health")
    assert answer.status_code == 200 and answer.content.startswith(b"well\n")
    assert b"last backup: none yet" in answer.content

    def away(*args, **kwargs):
        raise OperationalError("away")

    monkeypatch.setattr(connection, "cursor", away)
    answer = client.get("/health")
    assert answer.status_code == 503 and b"database: does not answer" in answer.content
