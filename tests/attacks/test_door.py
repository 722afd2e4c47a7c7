"""The door: what a stranger can type before anybody has let them in."""

import pytest
from django.test import Client

from decaljobs.models import Person
from decaljobs.services.people.people import make_enter_link
from tests.attacks.conftest import records
from tests.attacks.test_forms import BAD, WORDS
from tests.factories import EVENING, make_person

PASSWORD = "brackish-heron-42"


@pytest.fixture
def outside(client, evening, db):
    client.raise_request_exception = False
    return client


@pytest.mark.parametrize("kind", BAD)
@pytest.mark.parametrize("field", ["name", "password"])
def test_the_first_owner_has_a_name_and_a_password_that_can_be_kept(outside, kind, field):
    link = make_enter_link(person=None, moment=EVENING)
    typed = {"name": "Olle", "password": PASSWORD, "role": "maker", field: BAD[kind]}
    answer = outside.post(link, typed)
    assert answer.status_code in (200, 302)
    if kind in ("500 letters", "a NUL"):
        assert list(answer.context["form"].errors) == [field]
        assert not Person.objects.exists()
    for owner in Person.objects.all():
        assert (owner.role, owner.is_superuser) == ("owner", False)
    assert "<script>alert" not in answer.content.decode()


@pytest.mark.parametrize("kind", WORDS)
@pytest.mark.parametrize("field", ["username", "password", "next"])
def test_nobody_comes_in_by_odd_words(outside, kind, field):
    make_person(username="pia", password=PASSWORD)
    before = records()
    typed = {"username": "pia", "password": "wrong", field: WORDS[kind]}
    answer = outside.post("/sign-in/", typed)
    assert answer.status_code == 200
    assert "_auth_user_id" not in outside.session
    assert "<script>alert" not in answer.content.decode()
    assert records() == before


@pytest.mark.parametrize("elsewhere", ["https://evil.example/", "//evil.example", "javascript:x"])
def test_signing_in_leads_nowhere_but_into_the_workshop(outside, elsewhere):
    make_person(username="pia", password=PASSWORD)
    typed = {"username": "pia", "password": PASSWORD, "next": elsewhere}
    assert outside.post("/sign-in/", typed)["Location"] == "/"


def test_after_five_wrong_passwords_the_right_one_waits_too(outside):
    make_person(username="pia", password=PASSWORD)
    for guess in ("a", "b", "c", "d", "e"):
        outside.post("/sign-in/", {"username": "pia", "password": guess})
    answer = outside.post("/sign-in/", {"username": "pia", "password": PASSWORD})
    assert answer.status_code == 429
    assert "_auth_user_id" not in outside.session


def test_those_who_guess_keep_out_nobody_else(outside):
    """It is by name and address together that guesses are counted."""
    for name in ("pia", "pet"):
        make_person(username=name, password=PASSWORD)
    for guess in range(6):
        outside.post("/sign-in/", {"username": "pia", "password": str(guess)})
    data = {"username": "pia", "password": PASSWORD}
    assert outside.post("/sign-in/", data).status_code == 429
    there = outside.post("/sign-in/", {"username": "pet", "password": PASSWORD})
    assert there.status_code == 302, "another person at the same address"
    elsewhere = Client(REMOTE_ADDR="192.0.2.7")
    answer = elsewhere.post("/sign-in/", data)
    assert answer.status_code == 302, "the same person at another address"
