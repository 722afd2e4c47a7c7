"""A file of readings put beside the records of a room: what is new, known, and what is wrong."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, tzinfo
from itertools import islice
from typing import Any

import numpy as np
from numpy.typing import NDArray

from decaljobs.craft.room.readings_file import MOST_BAD, Readings, ReadingsLayout, read_readings
from decaljobs.craft.room.readings_guess import LOOKED_AT
from decaljobs.craft.textfile import Text, records
from decaljobs.models import Reading, Room
from decaljobs.models.rooms import moment_of
from decaljobs.services.drying.rooms import Told, keep_readings

SHOWN = 8  # lines on a preview
HEAD = "passed over: it stands before the readings"


@dataclass(frozen=True)
class ShownLine:
    """One line on a preview: its number, its cells, and what was read or what is wrong."""

    number: int
    cells: list[str]
    at: datetime | None
    temperature: float | None
    humidity: float | None
    reason: str

    @property
    def is_head(self) -> bool:
        """Whether the line stands before the readings and is passed over."""
        return self.reason == HEAD


@dataclass(frozen=True)
class FileCompared:
    """A file's readings beside a room's records.

    fresh marks the readings that the room does not have yet; found is what there is to tell.
    """

    readings: Readings
    fresh: NDArray[np.bool_]
    found: dict[str, Any]

    @property
    def is_clean(self) -> bool:
        return not self.found["bad_count"]


def first_lines(text: Text) -> list[str]:
    """The lines that a layout is guessed from."""
    return list(islice(text.lines(), LOOKED_AT))


def preview(text: Text, layout: ReadingsLayout, zone: tzinfo, now: datetime) -> list[ShownLine]:
    """The first lines of a file as they are read under a layout."""
    lines = first_lines(text)
    read = read_readings(lines, layout, zone, now)
    bad = dict(read.bad)
    places = {int(number): place for place, number in enumerate(read.lines)}
    shown = []
    for number, cells in islice(records(lines, layout.separator), SHOWN):
        place = places.get(number)
        known = place is not None
        reason = bad.get(number, "" if known else HEAD)
        shown.append(
            ShownLine(
                number,
                [cells] if isinstance(cells, str) else cells,
                moment_of(int(read.minutes[place])) if place is not None else None,
                float(read.temperatures[place]) if place is not None else None,
                float(read.humidities[place]) if place is not None else None,
                reason,
            )
        )
    return shown


def compare(
    text: Text,
    layout: ReadingsLayout,
    zone: tzinfo,
    room: Room,
    now: datetime,
    *,
    told: Callable[[int], None] | None = None,
) -> FileCompared:
    """Read a whole file and put it beside the room's records (one query)."""
    read = read_readings(text.lines(), layout, zone, now, told=told)
    fresh = np.ones(read.minutes.size, dtype=np.bool_)
    clashes: list[tuple[int, str]] = []
    clash_count = 0
    if read.minutes.size:
        fresh, differs, known = _beside(read, room)
        clash_count = int(np.count_nonzero(differs))
        clashes = [_clash(read, i, known) for i in np.flatnonzero(differs)[:MOST_BAD].tolist()]
    bad = sorted([*read.bad, *clashes])[:MOST_BAD]
    found = {
        "new": int(np.count_nonzero(fresh)),
        "known": int(read.minutes.size - np.count_nonzero(fresh)) - clash_count,
        "repeats": read.repeats,
        "thinned": read.thinned,
        "unordered": read.unordered,
        "first_unordered": read.first_unordered,
        "bad_count": read.bad_count + clash_count,
        "bad": [list(line) for line in bad],
        "first": moment_of(int(read.minutes[0])).isoformat() if read.minutes.size else "",
        "last": moment_of(int(read.minutes[-1])).isoformat() if read.minutes.size else "",
        "note": text.note,
    }
    return FileCompared(read, fresh, found)


def save(compared: FileCompared, room: Room, *, told: Told | None = None) -> int:
    """Keep the fresh readings, all or none; answers how many waits moved."""
    fresh = compared.fresh
    return keep_readings(
        room=room.pk,
        minutes=compared.readings.minutes[fresh],
        temperatures=compared.readings.temperatures[fresh],
        humidities=compared.readings.humidities[fresh],
        told=told,
    )


Known = dict[int, tuple[float, float]]


def _beside(read: Readings, room: Room) -> tuple[NDArray[np.bool_], NDArray[np.bool_], Known]:
    """Which readings are fresh, which differ from a record, and the records between them."""
    within = (int(read.minutes[0]), int(read.minutes[-1]))
    rows = Reading.objects.filter(room=room, minute__range=within).order_by("minute")
    kept = np.array(list(rows.values_list("minute", "temperature", "humidity")), dtype=np.float64)
    kept = kept.reshape(-1, 3).T
    minutes = kept[0].astype(np.int64)
    fresh = ~np.isin(read.minutes, minutes)
    differs = np.zeros_like(fresh)
    if minutes.size:
        place = np.minimum(np.searchsorted(minutes, read.minutes), minutes.size - 1)
        same = (kept[1][place] == read.temperatures) & (kept[2][place] == read.humidities)
        differs = ~fresh & ~same
    met = np.isin(minutes, read.minutes[differs])
    known = zip(minutes[met].tolist(), kept[1][met].tolist(), kept[2][met].tolist(), strict=True)
    return fresh, differs, {minute: (t, h) for minute, t, h in known}


def _clash(read: Readings, place: int, known: Known) -> tuple[int, str]:
    temperature, humidity = known[int(read.minutes[place])]
    reason = f"the records have {temperature:g} °C and {humidity:g} % RH for that minute"
    return int(read.lines[place]), reason
