"""Ways in that somebody else has got hold of."""

import os
import subprocess
import sys

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from decaljobs.models import Role
from decaljobs.services.people.people import make_enter_link
from tests.checkout import TOP
from tests.factories import make_person

pytestmark = pytest.mark.django_db
PASSWORD = "brackish-heron-42"


@pytest.fixture
def pia():
    return make_person(Role.MAKER, username="pia", password=PASSWORD)


def key_of(client) -> str:
    return client.cookies[settings.SESSION_COOKIE_NAME].value


def sign_in(client, password=PASSWORD):
    answer = client.post(reverse("sign-in"), {"username": "pia", "password": password})
    assert answer.status_code == 302, "not let in"


def test_a_session_laid_into_the_browser_beforehand_is_not_the_one_signed_in(client, pia):
    session = client.session
    session["laid"] = True
    session.save()
    before = session.session_key
    sign_in(client)
    assert key_of(client) != before


def test_a_session_kept_by_somebody_else_ends_with_signing_out(client, pia, client_of):
    sign_in(client)
    thief = client_of(key_of(client))
    assert thief.get("/").status_code == 200
    client.post(reverse("sign-out"))
    assert thief.get("/").status_code == 302


@pytest.mark.slow
def test_a_session_kept_by_somebody_else_ends_with_a_new_password(client, pia, client_of):
    sign_in(client)
    thief = client_of(key_of(client))
    new = {"old": PASSWORD, "password": "another-heron-43"}
    assert client.post(reverse("password"), new).status_code == 302
    assert client.get("/").status_code == 200, "the one who changed it stays"
    assert thief.get("/").status_code == 302


def test_a_session_ends_when_its_person_may_no_longer_come_in(client, pia):
    sign_in(client)
    pia.is_active = False
    pia.save()
    assert client.get("/").status_code == 302


def test_a_one_time_link_lets_in_once(client, pia, client_of):
    link = make_enter_link(person=pia, moment=timezone.now())
    assert [each.get(link).status_code for each in (client, client_of(None))] == [302, 410]


@pytest.fixture
def client_of():
    """A browser with this session in it."""

    def make(key):
        browser = Client()
        if key:
            browser.cookies[settings.SESSION_COOKIE_NAME] = key
        return browser

    return make


def cookie_names(data):
    """The names of both cookies, as a workshop with its data in this folder keeps them."""
    tell = "from workshop.settings import *; print(SESSION_COOKIE_NAME, CSRF_COOKIE_NAME)"
    told = subprocess.run(  # noqa: S603
        [sys.executable, "-c", tell],
        env={**os.environ, "DECALJOBS_DATA": str(data)},
        cwd=TOP,
        capture_output=True,
        text=True,
        check=True,
    )
    return told.stdout.split()


def test_two_workshops_on_one_machine_keep_cookies_of_their_own(tmp_path):
    """A browser keeps them by host alone: the names tell the workshops apart, and stay."""
    here, there = cookie_names(tmp_path / "here"), cookie_names(tmp_path / "there")
    assert len({*here, *there}) == 4
    assert cookie_names(tmp_path / "here") == here
