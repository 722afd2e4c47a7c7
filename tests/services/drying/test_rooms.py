"""Rooms, readings, moves: stored ready times follow the air, and events keep their figures."""

from datetime import timedelta

import numpy as np
import pytest
from django.db import IntegrityError, transaction

from decaljobs.craft.climate import Clock
from decaljobs.craft.drying import WaitTerms, ready_at
from decaljobs.craft.room.air import Air
from decaljobs.craft.stages import Stage
from decaljobs.models import Decal, Reading, Room, SheetEvent, StageEvent
from decaljobs.models.rooms import minute_of
from decaljobs.services.bench import moving, steps, undoing
from decaljobs.services.drying import rooms
from decaljobs.services.drying.air import Airs
from decaljobs.services.film import sheets
from decaljobs.services.refused import Refused
from tests.factories import EVENING, make_decal, make_sheet, sealed_decal

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)
# Base under a film: 12 h at 20 °C and 50 % RH, never under 8 h (common practice, no source).
TERMS = WaitTerms(12, 8, Clock.WATER_UNDER_FILM)


def usual():
    return Room.objects.get(is_default=True)


def add_steady(room, temperature, humidity, *, start=EVENING, hours=48, every=10):
    minutes = minute_of(start) + np.arange(0, hours * 60 + 1, every)
    full = np.full(minutes.size, 1.0)
    return rooms.keep_readings(
        room=room.pk,
        minutes=minutes,
        temperatures=full * temperature,
        humidities=full * humidity,
    )


def test_the_first_room_is_there_and_stands_at_the_reference():
    room = usual()
    assert (room.name, room.kind) == ("Workshop", "workshop")
    assert Airs().of(None, EVENING).at(EVENING) == (20, 50)


def test_a_reading_moves_the_stored_ready_time(drying):
    assert drying.ready_at == EVENING + 12 * HOUR
    # 15 °C and 70 % RH counts 0.4376 (hand-worked, see the clock's own tests): 27.4 h.
    assert add_steady(usual(), 15, 70) == 1
    drying.refresh_from_db()
    hours = (drying.ready_at - EVENING) / HOUR
    assert hours == pytest.approx(12 / 0.4376, rel=0.005)
    assert drying.turns_at == drying.ready_at


def test_stored_and_reckoned_ready_times_agree(drying):
    add_steady(usual(), 17, 55, start=EVENING - 24 * HOUR)
    drying.refresh_from_db()
    air = Airs().of(None, EVENING)
    reckoned = ready_at(TERMS, air, EVENING)
    assert abs(drying.ready_at - reckoned) < timedelta(seconds=1)


def test_taking_a_reading_out_puts_the_ready_time_back(drying, maker):
    at = EVENING + HOUR
    kept = rooms.add_reading(room=usual().pk, at=at, temperature=12, humidity=60, moment=at + HOUR)
    drying.refresh_from_db()
    assert drying.ready_at > EVENING + 12.5 * HOUR
    rooms.drop_reading(reading=kept.pk)
    drying.refresh_from_db()
    assert drying.ready_at == EVENING + 12 * HOUR
    assert usual().read_until is None


def test_a_cold_room_holds_the_decal_and_a_warm_one_frees_it(drying):
    add_steady(usual(), 5, 60)
    drying.refresh_from_db()
    assert (drying.held_because, drying.ready_at) == ("never_dries", None)
    add_steady(usual(), 21, 45, start=EVENING + 49 * HOUR)
    drying.refresh_from_db()
    assert drying.held_because == ""
    assert drying.ready_at > EVENING + 49 * HOUR


def test_what_was_over_before_a_reading_is_left_alone(drying, django_assert_max_num_queries):
    add_steady(usual(), 20, 50, hours=24)
    late = EVENING + 40 * HOUR
    with django_assert_max_num_queries(16):
        rooms.add_reading(room=usual().pk, at=late, temperature=5, humidity=50, moment=late)
    drying.refresh_from_db()
    assert drying.ready_at == EVENING + 12 * HOUR


def test_a_reading_in_another_room_moves_nothing(drying):
    shed = rooms.add_room(name="Shed", kind="shed")
    assert add_steady(shed, 5, 90) == 0


@pytest.mark.parametrize(
    ("temperature", "humidity"), [(-300, 50), (20, 140), (float("nan"), 50), (61, 50)]
)
def test_the_records_take_no_impossible_reading(temperature, humidity):
    with pytest.raises(IntegrityError), transaction.atomic():
        Reading.objects.create(room=usual(), minute=1, temperature=temperature, humidity=humidity)


def test_a_reading_to_come_or_read_otherwise_is_refused():
    room = usual().pk
    values = {"temperature": 20.0, "humidity": 50.0}
    with pytest.raises(Refused, match="still to come"):
        rooms.add_reading(room=room, at=EVENING + HOUR, moment=EVENING, **values)
    kept = rooms.add_reading(room=room, at=EVENING, moment=EVENING, **values)
    assert rooms.add_reading(room=room, at=EVENING, moment=EVENING, **values) == kept
    with pytest.raises(Refused, match="20.0 °C, 50 % RH stands at"):
        rooms.add_reading(room=room, at=EVENING, moment=EVENING, temperature=21.0, humidity=50.0)


def test_two_rooms_cannot_go_by_one_name():
    with pytest.raises(Refused, match="There is a room ‘workshop’ already"):
        rooms.add_room(name="workshop")


def test_changing_the_stated_air_moves_running_waits(drying):
    room = usual()
    room.day_temperature = room.night_temperature = 15
    room.day_humidity = room.night_humidity = 70
    assert rooms.change_room(room=room, moment=EVENING + HOUR) == 1
    drying.refresh_from_db()
    assert (drying.ready_at - EVENING) / HOUR == pytest.approx(12 / 0.4376, rel=0.005)
    room.name = "Front room"
    assert rooms.change_room(room=room, moment=EVENING + HOUR) == 0


def test_a_move_counts_each_room_for_its_time_and_is_logged(drying, maker):
    cupboard = rooms.add_room(
        name="Cupboard", kind="cupboard", day_temperature=15, night_temperature=15,
        day_humidity=70, night_humidity=70,
    )  # fmt: skip
    at = EVENING + 4 * HOUR
    (event,) = moving.move_decals(decals=[drying.pk], room=cupboard, by=maker, moment=at)
    drying.refresh_from_db()
    # 4 reference hours at 20/50, the other 8 at a rate of 0.4376.
    assert (drying.ready_at - at) / HOUR == pytest.approx(8 / 0.4376, rel=0.005)
    assert (event.words, event.room) == ("Moved to Cupboard", cupboard)
    assert event.air["room"] == "Workshop"
    assert event.air["done_hours"] == pytest.approx(4)
    assert drying.room == cupboard


def test_an_undone_move_brings_it_back(drying, maker):
    shed = rooms.add_room(name="Shed", kind="shed", day_temperature=5, night_temperature=5)
    at = EVENING + 4 * HOUR
    moving.move_decals(decals=[drying.pk], room=shed, by=maker, moment=at)
    drying.refresh_from_db()
    assert drying.held_because == "never_dries"
    undoing.undo_last(decal=drying.pk, by=maker, moment=at + HOUR)
    drying.refresh_from_db()
    assert drying.ready_at == EVENING + 12 * HOUR
    assert moving.lies_in(drying, Airs()) == usual()


def test_a_move_before_the_last_one_or_to_the_same_room_is_refused(drying, maker):
    shed = rooms.add_room(name="Shed", kind="shed")
    move = {"decals": [drying.pk], "room": shed, "by": maker, "moment": EVENING + HOUR}
    with pytest.raises(Refused, match="before it was last worked on"):
        moving.move_decals(**move, at=EVENING - HOUR)
    moving.move_decals(**move)
    with pytest.raises(Refused, match="lies in ‘Shed’ already"):
        moving.move_decals(**move)


def test_a_step_written_down_after_a_move_but_done_before_it_keeps_to_its_rooms(drying, maker):
    shed = rooms.add_room(name="Shed", kind="shed", day_temperature=5, night_temperature=5)
    moving.move_decals(decals=[drying.pk], room=shed, by=maker, moment=EVENING + 14 * HOUR)
    steps.log_step(
        decals=[drying.pk],
        step=Stage.CLEAR_APPLIED,
        by=maker,
        moment=EVENING + 20 * HOUR,
        at=EVENING + 13 * HOUR,
    )
    drying.refresh_from_db()
    assert [pk for _, pk in drying.stays] == [usual().pk, shed.pk]
    assert drying.turns_at is None  # one hour in the workshop, then the cold shed


def test_a_sheet_moves_with_its_wait_and_holds_its_decals(maker):
    decal, sheet = make_decal(), make_sheet(coats_wanted=1)
    sheets.put_on_sheet(sheet=sheet.pk, decals=[decal.pk], copies=1)
    sheets.log_printed(sheet=sheet.pk, by=maker, moment=EVENING)
    shed = rooms.add_room(name="Shed", kind="shed", day_temperature=5, night_temperature=5)
    event = moving.move_sheet(sheet=sheet.pk, room=shed, by=maker, moment=EVENING + HOUR)
    sheet.refresh_from_db()
    assert event.kind == SheetEvent.Kind.MOVED
    assert sheet.rested_at is None
    add_steady(shed, 22, 45, start=EVENING + 2 * HOUR)
    sheet.refresh_from_db()
    assert sheet.rested_at is not None


def test_another_usual_room_leaves_what_dries_where_it_lies(drying, maker):
    shed = rooms.add_room(name="Shed", kind="shed", day_temperature=5, night_temperature=5)
    rooms.make_usual(room=shed.pk)
    assert Room.objects.filter(is_default=True).get() == shed
    add_steady(shed, 5, 90)
    drying.refresh_from_db()
    assert drying.ready_at == EVENING + 12 * HOUR
    steps.log_step(
        decals=[drying.pk], step=Stage.CLEAR_APPLIED, by=maker, moment=EVENING + 13 * HOUR
    )
    drying.refresh_from_db()
    assert moving.lies_in(drying, Airs()) == shed


def test_every_event_keeps_the_room_and_the_figures_used(drying, maker):
    add_steady(usual(), 19, 52, start=EVENING - 24 * HOUR, hours=72)
    steps.log_step(
        decals=[drying.pk], step=Stage.CLEAR_APPLIED, by=maker, moment=EVENING + 20 * HOUR
    )
    cured = StageEvent.objects.get(decal=drying, to_stage="cured")
    assert cured.room == usual()
    assert (cured.air["temperature"], cured.air["humidity"], cured.air["read"]) == (19, 52, True)
    assert cured.air["wait"] == "base_cured"
    assert cured.air["done_hours"] == pytest.approx(12, abs=0.01)
    before = cured.air
    add_steady(usual(), 12, 70, start=EVENING - 23 * HOUR, hours=20, every=7)
    cured.refresh_from_db()
    assert cured.air == before


def test_air_once_worked_out_is_met_again_and_renewed_by_a_change():
    first = Airs().of(None, EVENING)
    assert Airs().of(None, EVENING) is first
    add_steady(usual(), 18, 50)
    changed = Airs().of(None, EVENING)
    assert changed is not first
    assert changed.at(EVENING + HOUR).temperature == 18
    assert isinstance(first, Air)


def test_many_waits_are_recomputed_with_few_queries(maker, django_assert_max_num_queries):
    decals = [sealed_decal(maker).pk for _ in range(3)]
    steps.log_step(decals=decals, step=Stage.BASE_APPLIED, by=maker, moment=EVENING)
    with django_assert_max_num_queries(18):
        assert add_steady(usual(), 15, 70) == 3
    ends = set(Decal.objects.values_list("ready_at", flat=True))
    assert len(ends) == 1
