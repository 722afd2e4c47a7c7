"""Moving what dries from one room to another: one more line in its log."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.db import transaction

from decaljobs.craft.stages import Stage
from decaljobs.models import Decal, Person, Room, Sheet, SheetEvent, StageEvent
from decaljobs.services.bench import logbook
from decaljobs.services.bench.event_figures import figures_of
from decaljobs.services.bench.logbook import Kind
from decaljobs.services.bench.outlooks import refresh
from decaljobs.services.drying.air import Airs, room_at
from decaljobs.services.film.sheetlog import (
    append_sheet_event,
    decals_on,
    lock_sheet,
    refuse_lost,
    settle_sheets,
    sheet_figures,
)
from decaljobs.services.refused import Refused


@transaction.atomic
def move_decals(
    *,
    decals: Sequence[int],
    room: Room,
    by: Person,
    moment: datetime,
    at: datetime | None = None,
) -> list[StageEvent]:
    """Log that these decals were carried to a room; those lying there stay. Raises Refused."""
    when = at or moment
    airs = Airs()
    moved, events = [], []
    for decal in logbook.lock(decals):
        if lies_in(decal, airs).pk == room.pk:
            continue
        _check_time(decal, when, moment)
        events.append(_move(decal, room, when, moment, by, airs))
        moved.append(decal)
    if not events:
        raise Refused(f"Nothing to move: it lies in ‘{room}’ already.")
    refresh(moved, airs)
    return events


@transaction.atomic
def move_sheet(
    *, sheet: int, room: Room, by: Person, moment: datetime, at: datetime | None = None
) -> SheetEvent:
    """Log that a sheet was carried to a room. Raises Refused."""
    found = lock_sheet(sheet)
    refuse_lost(found)
    when = at or moment
    airs = Airs()
    if lies_in(found, airs).pk == room.pk:
        raise Refused(f"Sheet {found.code} lies in ‘{room}’ already.")
    _check_time(found, when, moment)
    air = sheet_figures(found, when, airs) | {"to": room.name}
    found.room = room
    found.stays = [*found.stays, [when.isoformat(), room.pk]]
    settle_sheets([found], airs)
    event = append_sheet_event(
        found,
        kind=SheetEvent.Kind.MOVED,
        at=when,
        moment=moment,
        by=by,
        room_id=room.pk,
        air=air,
    )
    found.save()
    refresh(decals_on(found), airs)
    return event


def lies_in(thing: Decal | Sheet, airs: Airs) -> Room:
    """The room that a decal or a sheet lies in."""
    last = thing.stays[-1][1] if thing.stays else thing.room_id
    return airs.room(last)


def _check_time(thing: Decal | Sheet, at: datetime, moment: datetime) -> None:
    after = datetime.fromisoformat(thing.stays[-1][0]) if thing.stays else None
    logbook.check_time(at, moment=moment, after=after, what="it was last worked on or moved")


def _move(
    decal: Decal, room: Room, at: datetime, moment: datetime, by: Person, airs: Airs
) -> StageEvent:
    figures: dict[str, Any] = figures_of(decal, at, airs) | {"to": room.name}
    if not decal.stays:
        decal.stays = [[decal.stage_at.isoformat(), airs.room(room_at([], at)).pk]]
    return logbook.append(
        decal,
        kind=Kind.MOVED,
        to_stage=Stage(decal.stage),
        at=at,
        moment=moment,
        by=by,
        room=room.pk,
        air=figures,
    )
