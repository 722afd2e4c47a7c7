"""The air of a room in words."""

from __future__ import annotations

from datetime import datetime

from decaljobs.models import Room
from decaljobs.services.drying.air import Airs, is_read
from decaljobs.services.words import say_moment


def room_words(room: Room, airs: Airs, moment: datetime) -> str:
    """A room with its air now: 'Workshop: 19.4 °C and 52 % RH, read today 21:40.'"""
    return f"{room}: {air_words(room, airs, moment)}"


def air_words(room: Room, airs: Airs, moment: datetime) -> str:
    """A room's air now, and whether it was read, is expected or only stated."""
    air = airs.of(room.pk, moment)
    read_at = room.last_read_at
    if read_at is not None and read_at <= moment and is_read(air, moment):
        temperature, humidity = air.at(read_at)
        how = f"read {say_moment(read_at, now=moment)}"
    else:
        temperature, humidity = air.at(moment)
        how = "as stated: it was never read"
        if read_at is not None:
            how = f"expected: last read {say_moment(read_at, now=moment)}"
    return f"{temperature:z.1f} °C and {humidity:.0f} % RH, {how}."
