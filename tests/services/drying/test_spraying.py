"""Spraying weather in words, from the latest reading only while that is fresh."""

from datetime import timedelta

import pytest

from decaljobs.craft.waits import WaitKind
from decaljobs.models import Room, WaitRule
from decaljobs.services.drying.air import Airs
from decaljobs.services.drying.rooms import add_reading
from decaljobs.services.drying.spraying import spraying, spraying_in
from tests.factories import EVENING

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)


def told(temperature=None, humidity=None, *, age=5 * MINUTE):
    room = Room.objects.get(is_default=True)
    if temperature is not None:
        at = EVENING - age
        add_reading(room=room.pk, at=at, temperature=temperature, humidity=humidity, moment=EVENING)
    airs = Airs()
    return spraying(room=airs.default, kind=WaitKind.COAT_WATER, airs=airs, moment=EVENING)


def test_good_air_says_yes_with_its_figures():
    seen = told(20.0, 50.0)
    assert seen.verdict == "yes"
    # Dew point at 20 °C and 50 % RH: 9.27 °C (psychrolib 2.5), so a margin of 10.7 °C.
    assert "20.0 °C and 50 % RH read" in seen.why
    assert "10.7 °C above the dew point" in seen.why
    assert seen.next == ""


def test_damp_air_says_no_why_and_when_next():
    seen = told(20.0, 88.0)
    assert seen.verdict == "no"
    assert "88 %RH, it must be 85 %RH or less" in seen.why
    assert "dew point" in seen.why
    assert seen.next.startswith("Next likely")


def test_a_room_never_read_or_read_long_ago_is_not_known():
    assert told().verdict == "not known"
    seen = told(20.0, 50.0, age=61 * MINUTE)
    assert seen.verdict == "not known"
    assert "last reading" in seen.why


def test_what_is_not_known_is_not_said_to_come_now():
    for seen in (told(), told(20.0, 50.0, age=61 * MINUTE)):
        assert seen.next == (
            "By the air that is expected there it would do now: read it before you spray."
        )
        assert "Next likely" not in seen.words


def test_the_film_forming_minimum_of_the_rule_counts():
    WaitRule.objects.filter(kind="coat_water").update(film_forming_minimum=15)
    assert "film-forming minimum of 15 °C" in told(14.0, 50.0).why


def test_the_bench_goes_by_the_strictest_rule(django_assert_num_queries):
    told(14.0, 50.0)
    WaitRule.objects.filter(kind="coat_solvent").update(film_forming_minimum=15)
    airs = Airs(sprayed=True)
    airs.of(None, EVENING)
    with django_assert_num_queries(0):
        coat = spraying_in(room=airs.default, steps="coat", airs=airs, moment=EVENING)
        over = spraying_in(room=airs.default, steps="overcoat", airs=airs, moment=EVENING)
    assert (coat.verdict, over.verdict) == ("no", "yes")
    assert coat.words.startswith("Spraying weather: no. The air is at 14 °C")
