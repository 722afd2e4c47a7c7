"""Rooms and readings as records."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from django.db import IntegrityError, transaction

from decaljobs.models import Reading, Room
from decaljobs.models.rooms import minute_of, moment_of

pytestmark = pytest.mark.django_db


def test_minutes_and_moments_agree():
    moment = datetime(2026, 11, 2, 19, 5, tzinfo=UTC)
    assert moment_of(minute_of(moment)) == moment
    london = moment.astimezone(ZoneInfo("Europe/London"))
    assert minute_of(london) == minute_of(moment)


@pytest.mark.parametrize(
    "fields",
    [
        {"day_temperature": -300},
        {"night_humidity": 140},
        {"kind": "cellar"},
        {"name": "WORKSHOP"},
        {"is_default": True},
        {"read_from": 5, "read_until": 4},
    ],
)
def test_the_database_refuses_an_impossible_room(fields):
    with pytest.raises(IntegrityError), transaction.atomic():
        Room.objects.create(**{"name": "Shed", **fields})


def test_a_minute_is_read_once():
    room = Room.objects.get()
    Reading.objects.create(room=room, minute=7, temperature=20, humidity=50)
    with pytest.raises(IntegrityError), transaction.atomic():
        Reading.objects.create(room=room, minute=7, temperature=21, humidity=50)


def test_a_reading_says_itself():
    reading = Reading(room=Room.objects.get(), minute=minute_of(datetime(2026, 1, 2, tzinfo=UTC)))
    reading.temperature, reading.humidity = 19.44, 52.4
    assert str(reading) == "Workshop, 2026-01-02 00:00 UTC: 19.4 °C, 52 % RH"


def test_the_stated_day_changes_at_seven_and_at_ten_in_the_evening():
    room = Room(day_temperature=20, night_temperature=12)
    day = room.stated_day(UTC)
    assert (day.temperatures[6], day.temperatures[7], day.temperatures[21]) == (12, 20, 20)
    assert day.temperatures[22] == 12
