"""Rooms and their readings, page by page."""

import pytest
import time_machine
from django.urls import reverse

from decaljobs.models import Reading, Room
from decaljobs.services.drying import rooms
from tests.factories import EVENING

pytestmark = pytest.mark.django_db
ROOM = {
    "name": "Cupboard",
    "kind": "cupboard",
    "day_temperature": "21,5",
    "day_humidity": "45",
    "night_temperature": "20.5",
    "night_humidity": "48",
}


@pytest.fixture(autouse=True)
def _this_evening():
    with time_machine.travel(EVENING, tick=False):
        yield


@pytest.fixture
def room():
    return Room.objects.get(is_default=True)


def test_it_adds_a_room_with_a_decimal_comma(signed_in):
    answer = signed_in.post(reverse("room-new"), ROOM, follow=True)
    made = Room.objects.get(name="Cupboard")
    assert (made.day_temperature, made.night_humidity) == (21.5, 48)
    assert "Never read" in answer.content.decode()


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", "workshop"),
        ("name", ""),
        ("kind", "cellar"),
        ("day_temperature", "-300"),
        ("night_humidity", "140"),
        ("day_humidity", "NaN"),
        ("day_temperature", "warm"),
    ],
)
def test_it_rejects_a_wrong_value_beside_its_field(signed_in, field, value):
    answer = signed_in.post(reverse("room-new"), ROOM | {field: value})
    assert list(answer.context["form"].errors) == [field]
    assert Room.objects.count() == 1


def test_it_changes_a_room(signed_in, room):
    signed_in.post(reverse("room-change", args=[room.pk]), ROOM | {"name": "Attic"})
    room.refresh_from_db()
    assert (room.name, room.day_temperature) == ("Attic", 21.5)


def add(client, room, **fields):
    data = {"temperature": "19.5", "humidity": "52", "at": "", **fields}
    return client.post(reverse("reading-add", args=[room.pk]), data)


def test_it_keeps_a_reading_of_now(signed_in, room):
    assert add(signed_in, room).status_code == 302
    kept = Reading.objects.get()
    assert (kept.at, kept.temperature, kept.humidity) == (EVENING, 19.5, 52)


def test_it_leads_back_to_where_the_reading_was_written(signed_in, room):
    answer = add(signed_in, room, next="/drying/?room=1")
    assert answer["Location"] == "/drying/?room=1"
    answer = add(signed_in, room, next="https://elsewhere.example/", at="18:00")
    assert answer["Location"] == room.get_absolute_url()


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("temperature", "-300", "-40"),
        ("temperature", "NaN", "Enter a number"),
        ("humidity", "140", "100"),
        ("at", "2026-11-03 10:00", "still to come"),
        ("at", "soon", "Write a time"),
    ],
)
def test_a_bad_reading_is_answered_beside_its_field(signed_in, room, field, value, said):
    answer = add(signed_in, room, **{field: value})
    assert answer.status_code == 422
    assert said in " ".join(answer.context["form"].errors[field])
    assert not Reading.objects.exists()


def test_two_readings_of_one_minute_are_answered(signed_in, room):
    add(signed_in, room)
    answer = add(signed_in, room, temperature="20")
    assert "19.5 °C, 52 % RH stands at today 19:00 already" in str(answer.context["form"].errors)
    assert Reading.objects.count() == 1


def test_a_slip_of_the_pen_is_taken_out(signed_in, room):
    add(signed_in, room)
    signed_in.post(reverse("reading-drop", args=[Reading.objects.get().pk]))
    assert not Reading.objects.exists()


def test_it_lists_readings_with_the_same_queries_for_any_number(
    signed_in, room, django_assert_max_num_queries
):
    for minute in range(3):
        add(signed_in, room, at=f"18:0{minute}")
    with django_assert_max_num_queries(8):
        page = signed_in.get(room.get_absolute_url()).content.decode()
    assert page.count("Take out<span") == 3


def test_only_the_owner_says_where_layers_dry(client, maker, owner):
    shed = rooms.add_room(name="Shed", kind="shed")
    client.force_login(maker)
    assert client.post(reverse("room-usual", args=[shed.pk])).status_code == 403
    client.force_login(owner)
    client.post(reverse("room-usual", args=[shed.pk]))
    assert Room.objects.get(is_default=True) == shed


def test_onlookers_change_nothing(client, onlooker, room):
    client.force_login(onlooker)
    assert client.get(room.get_absolute_url()).status_code == 200
    assert client.get(reverse("room-new")).status_code == 403
    assert add(client, room).status_code == 403


def test_a_room_whose_name_is_its_kind_is_not_named_twice(signed_in, room):
    for name, doubled in (("Workshop", False), ("Attic", True)):
        Room.objects.update(name=name, kind="workshop")
        for address in (room.get_absolute_url(), "/drying/"):
            assert (">Workshop." in signed_in.get(address).content.decode()) is doubled
