"""Rooms and the readings of their air: added, changed, and every wait in them worked out anew."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta
from typing import Any

import numpy as np
from django.db import IntegrityError, connection, transaction
from django.db.models import Max, Min
from numpy.typing import NDArray

from decaljobs.models import Reading, Room
from decaljobs.models.rooms import EPOCH, minute_of, moment_of, new_mark
from decaljobs.services.drying.recompute import recompute
from decaljobs.services.locking import lock_record
from decaljobs.services.refused import Refused
from decaljobs.services.words import say_moment

#: Stated air passes into read air within this time; before it a first reading changes nothing.
PASSING = timedelta(hours=2)
STATED = ("day_temperature", "day_humidity", "night_temperature", "night_humidity")
BATCH = 20_000
Told = Callable[[int], None]


@transaction.atomic
def add_room(**fields: Any) -> Room:
    """A new room. Raises Refused when there is one of that name."""
    return _saved(Room(**fields))


@transaction.atomic
def change_room(*, room: Room, moment: datetime) -> int:
    """Keep a room's new name, kind and stated air; answers how many running waits moved."""
    before = Room.objects.select_for_update().get(pk=room.pk)
    room.read_from, room.read_until = before.read_from, before.read_until
    stated_differs = any(getattr(before, name) != getattr(room, name) for name in STATED)
    room.air_mark = new_mark() if stated_differs else before.air_mark
    _saved(room)
    if not stated_differs:
        return 0
    return recompute(since=moment, rooms=[room.pk])


@transaction.atomic
def make_usual(*, room: int) -> None:
    """Let layers dry in this room from now on, unless a decal or sheet says otherwise."""
    Room.objects.filter(is_default=True).update(is_default=False)
    Room.objects.filter(pk=room).update(is_default=True)


@transaction.atomic
def add_reading(
    *, room: int, at: datetime, temperature: float, humidity: float, moment: datetime
) -> Reading:
    """Keep one reading. Raises Refused for a time to come, or one already read otherwise."""
    if at > moment:
        raise Refused("That time is still to come: a reading is written down once it is read.")
    minute = minute_of(at)
    # Two who read the same minute at once come one after the other, and the second is told.
    locked = lock_record(Room.objects.all(), room, "room")
    known = Reading.objects.filter(room=room, minute=minute).first()
    if known is not None:
        if (known.temperature, known.humidity) == (temperature, humidity):
            return known
        raise Refused(
            f"A reading of {known.words} stands at {say_moment(known.at, now=moment)} already."
        )
    _keep(locked, np.array([minute]), np.array([temperature]), np.array([humidity]))
    return Reading.objects.get(room=room, minute=minute)


@transaction.atomic
def drop_reading(*, reading: int) -> None:
    """Take one reading out, as a slip of the pen."""
    found = Reading.objects.filter(pk=reading).first()
    if found is None:
        raise Refused("This reading is no longer there.")
    room = Room.objects.select_for_update().get(pk=found.room_id)
    since = _changed_since(room.pk, found.minute)
    found.delete()
    _note_change(room, since)


@transaction.atomic
def keep_readings(
    *,
    room: int,
    minutes: NDArray[np.int64],
    temperatures: NDArray[np.float64],
    humidities: NDArray[np.float64],
    told: Told | None = None,
) -> int:
    """Save readings at minutes since 1970 UTC, all or none; answers how many waits moved.

    Minutes that are read already are left as they stand. told is given the rows done, now and
    then.
    """
    if not minutes.size:
        return 0
    locked = lock_record(Room.objects.all(), room, "room")
    return _keep(locked, minutes, temperatures, humidities, told)


def _keep(
    room: Room,
    minutes: NDArray[np.int64],
    temperatures: NDArray[np.float64],
    humidities: NDArray[np.float64],
    told: Told | None = None,
) -> int:
    since = _changed_since(room.pk, int(minutes.min()))
    done = 0
    with connection.cursor() as cursor:
        for rows in _rows(room.pk, minutes, temperatures, humidities):
            cursor.executemany(_INSERT, rows)
            done += len(rows)
            if told:
                told(done)
    return _note_change(room, since)


_INSERT = (
    f"INSERT INTO {Reading._meta.db_table} (room_id, minute, temperature, humidity) "  # noqa: S608
    "VALUES (%s, %s, %s, %s) ON CONFLICT (room_id, minute) DO NOTHING"
)


def _rows(room: int, *columns: NDArray[Any]) -> Iterator[Sequence[tuple[Any, ...]]]:
    """Rows for the database, in order of time and in batches."""
    order = np.argsort(columns[0], kind="stable")
    for start in range(0, order.size, BATCH):
        part = order[start : start + BATCH]
        lists = [column[part].tolist() for column in columns]
        yield [(room, *row) for row in zip(*lists, strict=True)]


def _changed_since(room: int, minute: int) -> datetime:
    """From when on the air differs once the reading at this minute does."""
    last = Reading.objects.filter(room=room, minute__lt=minute).aggregate(last=Max("minute"))
    if last["last"] is not None:
        return moment_of(last["last"])
    return max(moment_of(minute) - PASSING, EPOCH)


def _note_change(room: Room, since: datetime) -> int:
    found = Reading.objects.filter(room=room).aggregate(first=Min("minute"), last=Max("minute"))
    room.read_from, room.read_until = found["first"], found["last"]
    room.air_mark = new_mark()
    room.save(update_fields=["read_from", "read_until", "air_mark"])
    return recompute(since=since, rooms=[room.pk])


def _saved(room: Room) -> Room:
    try:
        with transaction.atomic():
            room.save()
    except IntegrityError as error:
        raise Refused(f"There is a room ‘{room.name}’ already.") from error
    return room
