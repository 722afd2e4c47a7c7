"""Looking the records over: what does not agree, and how to mend it."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.apps import apps
from django.conf import settings
from django.db import DatabaseError, connection
from django.db.models import FileField

from decaljobs.craft.decallog import Entry, EntryKind, piece_states, stage_of
from decaljobs.craft.stages import Stage
from decaljobs.models import Decal, Piece, StageEvent
from decaljobs.services.files import drop_media, media_names, media_written_at
from decaljobs.services.safekeeping import backups

#: Files that no record names are left alone while they may belong to an upload under way.
YOUNG = timedelta(days=1)
#: A daily backup older than this is missed.
BACKUP_DUE = timedelta(days=2)
#: With less free than this no picture and no backup can be kept, bytes.
LITTLE_ROOM = 200 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Finding:
    """What is wrong, and what mends it."""

    words: str
    mend: str


def look_over(moment: datetime) -> list[Finding]:
    """Everything that does not agree; nothing is changed."""
    broken = list(_database())
    if broken:  # what the rest would read cannot be trusted
        return broken
    return [*_logs(), *_files(moment), *_upkeep(moment)]


def _database() -> Iterator[Finding]:
    last = backups.all_kept()[:1]
    mend = f"Restore the last backup, {last[0].path}." if last else "There is no backup to restore."
    try:
        if connection.vendor == "sqlite":
            with connection.cursor() as cursor:
                said = cursor.execute("PRAGMA integrity_check").fetchone()[0]
            if said != "ok":
                yield Finding(f"The database file is damaged: {said}.", mend)
        connection.check_constraints()
    except DatabaseError as error:
        yield Finding(f"The database is damaged: {error}.", mend)


def _logs() -> Iterator[Finding]:
    """The log is the truth: stage and pieces are what it says."""
    entries = _entries()
    states = dict(Piece.objects.values_list("pk", "state"))
    pieces: dict[int, list[int]] = {}
    for piece, owner in Piece.objects.values_list("pk", "decal"):
        pieces.setdefault(owner, []).append(piece)
    undo = "Undo its last step on its page and log it again."
    for decal in Decal.objects.select_related("project").iterator(1000):
        log = entries.get(decal.pk, [])
        if [entry.number for entry in log] != list(range(1, decal.events_logged + 1)):
            yield Finding(f"{decal.words}: lines are missing in its log.", "Restore a backup.")
        elif decal.stage != stage_of(log):
            yield Finding(f"{decal.words} is {decal.stage}, its log says {stage_of(log)}.", undo)
        said = piece_states(log)
        wrong = [p for p in pieces.get(decal.pk, []) if states[p] != said.get(p, "good")]
        if wrong:
            yield Finding(f"{decal.words}: pieces are not as its log says.", undo)


def _entries() -> dict[int, list[Entry]]:
    """The log of every decal, in order."""
    numbers = dict(StageEvent.objects.values_list("pk", "number"))
    held: dict[int, list[int]] = {}
    for event, piece in StageEvent.pieces.through.objects.values_list(
        "stageevent_id", "piece_id"
    ).iterator(2000):
        held.setdefault(event, []).append(piece)
    logs: dict[int, list[Entry]] = {}
    rows = StageEvent.objects.order_by("decal_id", "number").values_list(
        "pk", "decal_id", "number", "kind", "from_stage", "to_stage", "undoes_id"
    )
    for pk, decal, number, kind, start, end, undoes in rows.iterator(2000):
        entry = Entry(
            number=number,
            kind=EntryKind(kind),
            from_stage=Stage(start),
            to_stage=Stage(end),
            undoes=numbers.get(undoes),
            pieces=tuple(held.get(pk, ())),
        )
        logs.setdefault(decal, []).append(entry)
    return logs


def named_files() -> dict[str, str]:
    """Every file that a record names, with what names it."""
    found = {}
    for model in apps.get_app_config("decaljobs").get_models():
        for field in model._meta.concrete_fields:
            if isinstance(field, FileField):
                for pk, name in model._base_manager.exclude(**{field.name: ""}).values_list(
                    "pk", field.name
                ):
                    found[name] = f"{model._meta.verbose_name} {pk}"
    return found


def _files(moment: datetime) -> Iterator[Finding]:
    try:
        yield from _lost_files()
        yield from _loose_files(moment)
    except OSError as error:
        yield Finding(
            f"The files of pictures cannot be looked through: {error.strerror or error}.",
            "See whether their folder or storage can be reached, and try again.",
        )


def _lost_files() -> Iterator[Finding]:
    there = set(media_names())
    for name, owner in named_files().items():
        if name not in there:
            yield Finding(
                f"The file {name} of {owner} is gone.",
                "Put it back from a backup, or choose the picture anew.",
            )


def loose_files(moment: datetime) -> list[str]:
    """Files of the media that no record names and nobody is writing."""
    named = named_files()
    loose = [name for name in media_names() if name not in named]
    return [name for name in loose if media_written_at(name) < moment - YOUNG]


def broken_off(moment: datetime) -> list[Path]:
    """Files and folders of work that was broken off."""
    home, oldest = backups.folder(), (moment - YOUNG).timestamp()
    found = [*Path(settings.MEDIA_ROOT).parent.glob("restoring-*")]
    found += [*home.glob("working-*"), *home.glob("*.part")]
    return [path for path in found if path.stat().st_mtime < oldest]


def _loose_files(moment: datetime) -> Iterator[Finding]:
    loose = [*loose_files(moment), *(path.name for path in broken_off(moment))]
    if loose:
        yield Finding(
            f"{len(loose)} files that no record names lie about, such as {Path(loose[0]).name}.",
            "doctor --sweep removes them.",
        )


def sweep(moment: datetime) -> int:
    """Remove what no record names; how many files or folders."""
    loose, left = loose_files(moment), broken_off(moment)
    for name in loose:
        drop_media(name)
    for path in left:
        if path.is_dir():
            shutil.rmtree(path)
        else:
            path.unlink()
    return len(loose) + len(left)


def _upkeep(moment: datetime) -> Iterator[Finding]:
    newest = next(iter(backups.all_kept()), None)
    if newest is None or moment - newest.made_at > BACKUP_DUE:
        yield Finding("There is no backup of the last two days.", "Make one: backup FILE.")
    free = free_bytes()
    if free < LITTLE_ROOM:
        yield Finding(f"The disk has {free / 1e6:,.0f} MB left.", "Make room on it.")


def free_bytes() -> int:
    """What the disk of the records has free."""
    return shutil.disk_usage(Path(settings.DATA)).free
