"""The settings page, and one's own password."""

import pytest
from django.test import Client

from decaljobs.models import Device
from tests.factories import make_person
from workshop import VERSION

OLD, NEW = "brackish-heron-42", "copper-otter-77"


@pytest.fixture
def pia(db):
    return make_person(username="pia", password=OLD)


@pytest.fixture
def two(pia):
    """Two devices on which pia is signed in."""
    clients = Client(), Client()
    for client in clients:
        client.force_login(pia)
    return clients


def test_it_says_which_version_runs(signed_in):
    assert f"version {VERSION}" in signed_in.get("/settings/").content.decode()


def test_it_leads_to_everything_that_is_set(signed_in):
    page = signed_in.get("/settings/").content.decode()
    for path in ("/people/", "/settings/devices/", "/drying/", "/sheets/printers/", "/hand/"):
        assert f'href="{path}"' in page
        assert signed_in.get(path).status_code == 200
    assert '<a href="/settings/" aria-current="page">Settings</a>' in page


def test_a_new_password_keeps_this_device_and_signs_the_others_out(pia, two):
    here, there = two
    answer = here.post("/settings/password/", {"old": OLD, "password": NEW})
    assert answer["Location"] == "/settings/"
    pia.refresh_from_db()
    assert pia.check_password(NEW)
    assert here.get("/").status_code == 200
    assert there.get("/")["Location"].startswith("/sign-in/")
    assert [d.session_id for d in Device.objects.all()] == [here.session.session_key]


def test_it_rejects_a_wrong_old_password_and_a_weak_new_one(pia, two):
    for data, field in (
        ({"old": "wrong", "password": NEW}, "old"),
        ({"old": OLD, "password": "12345678"}, "password"),
        ({"old": OLD, "password": ""}, "password"),
    ):
        answer = two[0].post("/settings/password/", data)
        assert list(answer.context["form"].errors) == [field]
    pia.refresh_from_db()
    assert pia.check_password(OLD)


def test_whoever_came_by_a_link_sets_a_first_password_without_an_old_one(signed_in, maker):
    maker.set_unusable_password()
    maker.save()
    signed_in.force_login(maker)
    assert b"until now" not in signed_in.get("/settings/password/").content
    signed_in.post("/settings/password/", {"password": NEW})
    maker.refresh_from_db()
    assert maker.check_password(NEW)


def test_an_owner_who_changes_their_own_password_stays_signed_in(client, owner):
    client.force_login(owner)
    other = Client()
    other.force_login(owner)
    data = {"role": "owner", "is_active": "on", "password": NEW}
    assert client.post(f"/people/{owner.pk}/", data)["Location"] == "/people/"
    assert client.get("/people/").status_code == 200
    assert other.get("/").status_code == 302


def test_somebody_who_may_no_longer_sign_in_is_out_at_once(client, owner, two):
    client.force_login(owner)
    pia = Device.objects.exclude(person=owner).first().person
    client.post(f"/people/{pia.pk}/", {"role": "maker"})
    assert not Device.objects.filter(person=pia).exists()
    assert two[0].get("/").status_code == 302
    assert client.get("/people/").status_code == 200
