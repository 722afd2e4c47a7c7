"""Rooms and readings as records."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from decaljobs.models import Reading, Room
from decaljobs.models.rooms import minute_of, moment_of

pytestmark = pytest.mark.django_db


def test_minutes_and_moments_agree():
    moment = datetime(2026, 11, 2, 19, 5, tzinfo=UTC)
    assert moment_of(minute_of(moment)) == moment
    london = moment.astimezone(ZoneInfo("Europe/London"))
    assert minute_of(london) == minute_of(moment)


def test_a_reading_says_itself():
    reading = Reading(room=Room.objects.get(), minute=minute_of(datetime(2026, 1, 2, tzinfo=UTC)))
    reading.temperature, reading.humidity = 19.44, 52.4
    assert str(reading) == "Workshop, 2026-01-02 00:00 UTC: 19.4 °C, 52 % RH"


def test_the_stated_day_changes_at_seven_and_at_ten_in_the_evening():
    room = Room(day_temperature=20, night_temperature=12)
    day = room.stated_day(UTC)
    assert (day.temperatures[6], day.temperatures[7], day.temperatures[21]) == (12, 20, 20)
    assert day.temperatures[22] == 12
