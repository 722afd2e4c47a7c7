"""People and the door: roles, one-time links, signing in and out."""

from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from decaljobs.models import EnterLink, Person, Role
from decaljobs.services.people.people import make_enter_link
from tests.factories import make_person

PASSWORD = "brackish-heron-42"


@pytest.fixture
def as_owner(client, owner):
    client.force_login(owner)
    return client


@pytest.mark.django_db
def test_the_first_person_becomes_the_owner(client):
    link = make_enter_link(person=None, moment=timezone.now())
    assert "Password" in client.get(link).content.decode()
    answer = client.post(link, {"name": "Olle", "password": PASSWORD})
    assert answer["Location"] == "/"
    owner = Person.objects.get()
    assert (owner.role, owner.check_password(PASSWORD)) == (Role.OWNER, True)
    assert client.get("/people/").status_code == 200
    client.logout()
    assert client.get(link).status_code == 410


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("field", "value"), [("name", ""), ("name", "a b c!/"), ("password", "12345678")]
)
def test_it_rejects_a_wrong_name_or_a_weak_password(client, field, value):
    link = make_enter_link(person=None, moment=timezone.now())
    answer = client.post(link, {"name": "Olle", "password": PASSWORD, field: value})
    assert list(answer.context["form"].errors) == [field]
    assert not Person.objects.exists()


def test_a_second_owner_is_not_made_by_an_old_link(client, owner):
    link = make_enter_link(person=None, moment=timezone.now())
    answer = client.post(link, {"name": "Intruder", "password": ""})
    assert "has an owner already" in answer.content.decode()
    assert Person.objects.count() == 1


def test_a_link_lets_its_person_in_once(client, maker):
    link = make_enter_link(person=maker, moment=timezone.now())
    assert client.get(link)["Location"] == "/"
    assert client.get("/people/").wsgi_request.user == maker
    assert client.get(link).status_code == 410


def test_a_link_runs_out(client, maker):
    link = make_enter_link(person=maker, moment=timezone.now())
    with time_machine.travel(timezone.now() + timedelta(hours=12, seconds=1), tick=False):
        assert client.get(link).status_code == 410
    assert EnterLink.objects.get().digest not in link


def test_only_the_newest_link_works(client, maker):
    first = make_enter_link(person=maker, moment=timezone.now())
    second = make_enter_link(person=maker, moment=timezone.now())
    assert client.get(first).status_code == 410
    assert client.get(second).status_code == 302


@pytest.mark.django_db
def test_it_signs_in_and_out(client):
    make_person(username="pia", password=PASSWORD)
    answer = client.post("/sign-in/", {"username": "pia", "password": PASSWORD})
    assert answer["Location"] == "/"
    client.post("/sign-out/")
    assert client.get("/people/")["Location"].startswith("/sign-in/")


def test_a_first_and_a_last_name_come_in_together(client, as_owner):
    as_owner.post(
        "/people/new/", {"name": "Zoë O'Neil-Lind", "role": "maker", "password": PASSWORD}
    )
    as_owner.post("/sign-out/")
    answer = client.post("/sign-in/", {"username": "Zoë O'Neil-Lind", "password": PASSWORD})
    assert answer["Location"] == "/"


@pytest.mark.parametrize("name", ["a\x00b", "two  spaces", "<b>", "line\nbreak", "😀", "a" * 61])
def test_it_rejects_a_name_that_nobody_can_type_again(as_owner, name):
    answer = as_owner.post("/people/new/", {"name": name, "role": "maker"})
    assert answer.context["form"].errors["name"]
    assert Person.objects.count() == 1


def test_it_adds_a_person_and_makes_a_link_for_them(as_owner):
    as_owner.post("/people/new/", {"name": "ida", "role": "onlooker", "password": ""})
    ida = Person.objects.get(username="ida")
    page = as_owner.post(f"/people/{ida.pk}/link/").content.decode()
    assert "http://testserver/enter/" in page


def test_it_rejects_a_name_that_is_taken(as_owner, maker):
    answer = as_owner.post("/people/new/", {"name": "MARA", "role": "maker"})
    assert "name" in answer.context["form"].errors


def test_the_only_owner_stays_one(as_owner, owner):
    answer = as_owner.post(f"/people/{owner.pk}/", {"role": "maker", "is_active": "on"})
    assert "only owner" in str(answer.context["form"].errors["role"])
    owner.refresh_from_db()
    assert owner.role == Role.OWNER


@pytest.mark.parametrize("who", ["maker", "onlooker"])
def test_it_requires_the_owner_to_change_people(client, request, who):
    person = request.getfixturevalue(who)
    client.force_login(person)
    assert client.get("/people/").status_code == 200
    assert client.post("/people/new/", {"name": "x", "role": "owner"}).status_code == 403
    assert client.post(f"/people/{person.pk}/", {"role": "owner"}).status_code == 403
    assert client.post(f"/people/{person.pk}/link/").status_code == 403


@pytest.mark.parametrize("number", [1, 30])
def test_it_lists_people_with_the_same_queries_for_any_number(
    signed_in, django_assert_num_queries, number
):
    for _ in range(number):
        make_person()
    with django_assert_num_queries(4):
        answer = signed_in.get(reverse("people"))
    assert len(answer.context["rows"]) == number + 1
