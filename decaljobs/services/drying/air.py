"""The air of the rooms, from their readings and their stated figures."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from django.utils import timezone

from decaljobs.craft.room.air import Air, moved_air
from decaljobs.craft.room.day_of_air import DayOfAir
from decaljobs.craft.room.expected_air import DAYS_BACK, LONGEST_GAP
from decaljobs.craft.room.expected_air import room_air as air_from_readings
from decaljobs.models import Decal, Reading, Room, Sheet
from decaljobs.models.rooms import minute_of

DAY_MINUTES = 24 * 60
#: Days before the last reading that are looked at: few sizes, so that kept air is met again.
REACHES = (8, 30, 100, 366, 1100, 4000, 40000)
#: Room and moment moved in, as records keep them.
Stays = Sequence[Sequence[Any]]


class Airs:
    """The air of every room as it stands now: one query for the rooms, one for each room asked.

    Make one for a page or a task and hand it on; what it has worked out is kept by the state of
    each room, so that the next page finds it again. sprayed: with what `spraying_in` wants.
    """

    def __init__(self, *, sprayed: bool = False) -> None:
        self._sprayed = sprayed
        self._since: datetime | None = None
        self._airs: dict[int, tuple[datetime, Air]] = {}

    def reach_back(self, moments: Iterable[datetime]) -> None:
        """Read every room from the earliest of these on, so that all waits share one air."""
        self._since = min([*moments, *([self._since] if self._since else [])], default=None)

    @cached_property
    def rooms(self) -> dict[int, Room]:
        rooms = Room.objects.with_minimums() if self._sprayed else Room.objects.all()
        return {room.pk: room for room in rooms}

    @cached_property
    def default(self) -> Room:
        return next(room for room in self.rooms.values() if room.is_default)

    def room(self, pk: int | None) -> Room:
        """The room with this number; the usual one for None."""
        return self.default if pk is None else self.rooms[pk]

    def of(self, pk: int | None, since: datetime) -> Air:
        """The air of a room (None: the usual one), read from `since` on or longer."""
        room = self.room(pk)
        since = min(since, self._since or since)
        known = self._airs.get(room.pk)
        if known is not None and known[0] <= since:
            return known[1]
        first = None if room.read_until is None else _first_minute(room.read_until, since)
        stated = room.stated_day(timezone.get_default_timezone())
        air = _loaded(room.pk, room.air_mark, first, stated)
        self._airs[room.pk] = since, air
        return air

    def met(self, stays: Stays, since: datetime) -> Air:
        """The air met by what dries in these rooms one after the other; none: the usual room."""
        if not stays:
            return self.of(None, since)
        airs = [self.of(pk, since) for _, pk in stays]
        if len(airs) == 1:
            return airs[0]
        moments = tuple(datetime.fromisoformat(moment) for moment, _ in stays)
        return _moved(moments, tuple(airs))

    def of_decal(self, decal: Decal) -> Air:
        """The air that the waits of a decal run in."""
        return self.met(decal.stays, decal.stage_at)

    def of_sheet(self, sheet: Sheet) -> Air:
        """The air that the wait of a sheet runs in."""
        return self.met(sheet.stays, sheet.worked_at or sheet.made_at)

    def figures(self, stays: Stays, at: datetime) -> dict[str, Any]:
        """The room and its air at a moment, as an event keeps them."""
        room = self.room(room_at(stays, at))
        air = self.of(room.pk, at)
        temperature, humidity = air.at(at)
        return {
            "room": room.name,
            "temperature": round(temperature, 1),
            "humidity": round(humidity, 1),
            "read": is_read(air, at),
        }


def airs_of(page: Any, *, sprayed: bool = False) -> Airs:
    """The airs of a page's request, made once and kept with it."""
    found: Airs | None = getattr(page, "airs", None)
    if found is None:
        found = page.airs = Airs(sprayed=sprayed)
    return found


def is_read(air: Air, at: datetime) -> bool:
    """Whether the air at a moment was read, or lies within six hours of a reading."""
    first, last = air.first_reading, air.last_reading
    if first is None or last is None or at < first:
        return False
    near = at - last <= timedelta(hours=LONGEST_GAP)
    return near and not any(begin < at < end for begin, end in air.filled)


def room_at(stays: Stays, at: datetime) -> int | None:
    """The room in which something lies at a moment: where it was last moved to by then."""
    found = stays[0][1] if stays else None
    for moment, pk in stays:
        if datetime.fromisoformat(moment) <= at:
            found = pk
    return found


def stays_from(
    start: datetime, room: int | None, later: Iterable[tuple[datetime, int]]
) -> list[list[Any]]:
    """Stays as records keep them: from a start in a room, then the later moves."""
    moves = [(start, room), *later]
    return [[moment.isoformat(), pk] for moment, pk in moves]


def _first_minute(last: int, since: datetime) -> int:
    """Where to begin reading: before `since`, with the days that expected air is drawn from."""
    wanted = (last - minute_of(since)) / DAY_MINUTES
    days = next((days for days in REACHES if days >= wanted), REACHES[-1])
    return last - (days + DAYS_BACK + 1) * DAY_MINUTES


@lru_cache(maxsize=32)
def _loaded(room: int, mark: str, first_minute: int | None, stated: DayOfAir) -> Air:
    """The air of a room in the state that its mark names (one query)."""
    rows: list[tuple[int, float, float]] = []
    if first_minute is not None:
        readings = Reading.objects.filter(room=room).since(first_minute)
        rows = list(readings.values_list("minute", "temperature", "humidity"))
    columns = np.array(rows, dtype=np.float64).reshape(-1, 3).T
    return air_from_readings(
        columns[0] * 60.0, columns[1], columns[2], stated=stated, zone=stated.zone
    )


@lru_cache(maxsize=256)
def _moved(moments: tuple[datetime, ...], airs: tuple[Air, ...]) -> Air:
    return moved_air(list(zip(moments, airs, strict=True)))
