"""The example's rooms: read, cold where they should be, and gone without a trace."""

import pytest
from django.core.management import CommandError, call_command

from decaljobs.models import Decal, Reading, Room
from decaljobs.services.bench import moving
from decaljobs.services.drying import rooms
from decaljobs.services.drying.air import Airs, is_read
from tests.factories import EVENING, make_decal

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("in_the_evening")]


@pytest.mark.slow
def test_the_workshop_is_read_until_now_and_the_shed_is_too_cold():
    call_command("load_demo", verbosity=0)
    airs = Airs()
    bench, shed = (Room.objects.get(example=True, kind=kind) for kind in ("workshop", "shed"))
    for room in (bench, shed):
        air = airs.of(room.pk, EVENING)
        assert is_read(air, EVENING)
        assert len(air.days) == 14
    assert 17 < airs.of(bench.pk, EVENING).at(EVENING).temperature < 24
    assert airs.of(shed.pk, EVENING).at(EVENING).temperature < 10
    held = Decal.objects.filter(held_because="never_dries")
    assert [moving.lies_in(decal, airs) for decal in held] == [shed]


@pytest.mark.slow
def test_clearing_the_example_takes_its_rooms_and_leaves_ones_own():
    own = rooms.add_room(name="Bench room")
    rooms.add_reading(room=own.pk, at=EVENING, temperature=20, humidity=50, moment=EVENING)
    call_command("load_demo", verbosity=0)
    assert Room.objects.filter(name="Bench room (example)", example=True).exists()
    call_command("clear_demo", verbosity=0)
    assert list(Room.objects.values_list("name", flat=True)) == ["Workshop", "Bench room"]
    assert Reading.objects.count() == 1


@pytest.mark.slow
def test_clearing_is_refused_while_own_work_dries_in_its_rooms(maker):
    call_command("load_demo", verbosity=0)
    decal, room = make_decal(), Room.objects.get(example=True, kind="shed")
    moving.move_decals(decals=[decal.pk], room=room, by=maker, moment=EVENING)
    with pytest.raises(CommandError, match="Own work dries in ‘Boat shed’"):
        call_command("clear_demo")


@pytest.mark.slow
def test_clearing_is_refused_while_layers_dry_there_by_rule():
    call_command("load_demo", verbosity=0)
    rooms.make_usual(room=Room.objects.get(example=True, kind="workshop").pk)
    with pytest.raises(CommandError, match="choose one of your own first"):
        call_command("clear_demo")
