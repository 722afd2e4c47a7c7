"""Files of readings on their way into a room: kept, looked at, read, agreed to, saved."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import datetime, tzinfo
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.db import transaction
from django.utils import timezone

from decaljobs.craft.room.readings_file import ReadingsLayout
from decaljobs.craft.room.readings_guess import guess_layout
from decaljobs.craft.textfile import FileRefused, Text, decode
from decaljobs.models import ImportState, Person, ReadingsImport, Room
from decaljobs.models.imports import AT_WORK
from decaljobs.services import behind
from decaljobs.services.drying.readings import FileCompared, compare, first_lines, save
from decaljobs.services.files import atomic_with_files, drop_file, keep_file
from decaljobs.services.refused import Refused

NAME = "import {}"
LARGEST = 24 * 1024 * 1024  # bytes; a year of minute readings is about 16 MB
BROKE_OFF = "The work broke off, and nothing was saved. Begin again."


def keep_upload(
    *, room: Room, by: Person, moment: datetime, name: str, data: bytes
) -> ReadingsImport:
    """Keep a file to be looked at, with the layout that fits it best. Raises Refused."""
    if len(data) > LARGEST:
        raise Refused(f"The file is larger than {LARGEST // 1024**2} MB: divide it.")
    try:
        layout = guess_layout(first_lines(decode(data)))
    except FileRefused as refusal:
        raise Refused(str(refusal)) from refusal
    kept = ReadingsImport(
        room=room, by=by, made_at=moment, name=name[-200:] or "readings", layout=layout.to_dict()
    )
    kept.layout["zone"] = timezone.get_current_timezone_name()
    with atomic_with_files():
        keep_file(kept.file, f"{uuid.uuid4().hex}.csv", data)
        kept.save()
    return kept


def begin_reading(*, pk: int, layout: ReadingsLayout, zone: str, moment: datetime) -> None:
    """Read the whole file behind the page; it is saved at once if every line is good."""
    looked_at = _waiting(ReadingsImport.objects.filter(pk=pk).first(), ImportState.UPLOADED)
    rows = text_of(looked_at).text.count("\n") + 1
    with transaction.atomic():
        found = _locked(pk, ImportState.UPLOADED)
        found.layout = layout.to_dict() | {"zone": zone}
        found.state, found.beat_at = ImportState.READING, moment
        found.rows_done, found.rows_all = 0, rows
        found.save()
    behind.start(NAME.format(pk), read_file, pk)


def begin_saving(*, pk: int, moment: datetime) -> None:
    """Save what is good behind the page, as the maker has agreed."""
    with transaction.atomic():
        found = _locked(pk, ImportState.READ)
        found.state, found.beat_at = ImportState.SAVING, moment
        found.rows_done = 0
        found.save()
    behind.start(NAME.format(pk), save_file, pk)


@transaction.atomic
def leave_out(*, pk: int) -> None:
    """Leave a file out; nothing of it was saved. Raises Refused while it is being worked on."""
    found = _locked(pk, ImportState.UPLOADED, ImportState.READ, ImportState.FAILED)
    found.state = ImportState.DROPPED
    _forget_file(found)
    found.save()


def tend(found: ReadingsImport, moment: datetime) -> ReadingsImport:
    """Mark an import as failed when the process that worked on it is gone."""
    if not found.is_at_work or behind.is_alive(NAME.format(found.pk), found.beat_at, moment):
        return found
    with transaction.atomic():
        locked = ReadingsImport.objects.select_for_update().get(pk=found.pk)
        if locked.is_at_work and locked.beat_at == found.beat_at:
            locked.state = ImportState.FAILED
            locked.message = BROKE_OFF
            locked.save()
    return locked


def read_file(pk: int) -> None:
    """The work behind `begin_reading`; running it twice does no harm."""
    _guarded(pk, ImportState.READING, _read)


def save_file(pk: int) -> None:
    """The work behind `begin_saving`; running it twice does no harm."""
    _guarded(pk, ImportState.SAVING, lambda found: _save(found, _compare(found)))


def _guarded(pk: int, state: str, work: Callable[[ReadingsImport], None]) -> None:
    """Work on an import in this state; whatever goes wrong, its record says so."""
    found = ReadingsImport.objects.select_related("room").get(pk=pk)
    if found.state != state:
        return
    try:
        work(found)
    except (FileRefused, Refused) as refusal:
        _end(found, ImportState.FAILED, str(refusal))
    except Exception:
        _end(found, ImportState.FAILED, BROKE_OFF)
        raise


def _read(found: ReadingsImport) -> None:
    compared = _compare(found)
    found.found, found.rows_done = compared.found, found.rows_all
    if compared.is_clean:
        _save(found, compared)
    else:
        _end(found, ImportState.READ, "")


def zone_named(name: str) -> tzinfo:
    """The time zone of this name; raises Refused for one that is not known."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise Refused(f"‘{name[:60]}’ is no time zone: write Europe/London or UTC.") from error


def layout_of(found: ReadingsImport) -> ReadingsLayout:
    """The layout an import keeps."""
    return ReadingsLayout.from_dict({k: v for k, v in found.layout.items() if k != "zone"})


def text_of(found: ReadingsImport) -> Text:
    """The text of the kept file. Raises Refused once the file is gone."""
    try:
        with found.file.open("rb") as opened:
            return decode(opened.read())
    except (FileNotFoundError, ValueError) as error:
        raise Refused("The file is no longer kept: upload it again.") from error


def _compare(found: ReadingsImport) -> FileCompared:
    def told(rows: int) -> None:
        ReadingsImport.objects.filter(pk=found.pk).update(
            rows_done=min(rows, found.rows_all), beat_at=timezone.now()
        )

    zone = zone_named(found.layout["zone"])
    return compare(text_of(found), layout_of(found), zone, found.room, timezone.now(), told=told)


def _save(found: ReadingsImport, compared: FileCompared) -> None:
    """Readings and the word that they are saved go in together, or not at all."""
    with transaction.atomic():
        locked = ReadingsImport.objects.select_for_update().get(pk=found.pk)
        if not locked.is_at_work:
            return
        moved = save(compared, found.room)
        locked.found = compared.found | {"moved": moved}
        locked.state, locked.rows_done = ImportState.SAVED, locked.rows_all
        _forget_file(locked)
        locked.save()


def _end(found: ReadingsImport, state: str, message: str) -> None:
    changed: dict[str, Any] = {"state": state, "message": message[:400], "found": found.found}
    still = ReadingsImport.objects.filter(pk=found.pk, state__in=AT_WORK)
    still.update(rows_done=found.rows_done, **changed)


def _locked(pk: int, *states: str) -> ReadingsImport:
    return _waiting(ReadingsImport.objects.select_for_update().filter(pk=pk).first(), *states)


def _waiting(found: ReadingsImport | None, *states: str) -> ReadingsImport:
    """An import that is there and in one of these states. Raises Refused."""
    if found is None:
        raise Refused("This file is no longer there.")
    if found.state not in states:
        raise Refused(f"This file is {found.get_state_display()} already.")
    return found


def _forget_file(found: ReadingsImport) -> None:
    drop_file(found.file)
    found.file = ""
