"""Restoring a backup: everything is checked first, the swap comes last, the old data is kept."""

from __future__ import annotations

import secrets
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.contrib.sessions.models import Session
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connection, connections
from django.db.migrations.loader import MigrationLoader

from decaljobs.services.safekeeping.backup_file import (
    MEDIA,
    RECORDS,
    BackupRefused,
    Contents,
    unpack,
)
from decaljobs.services.safekeeping.backups import Occasion, folder, take_into_folder, take_keys_out
from decaljobs.services.safekeeping.media_swap import swapped_media
from decaljobs.services.safekeeping.row_copy import bring_up_to_date, copy_rows, open_file


def restore(path: Path, *, moment: datetime) -> tuple[Contents, Path]:
    """Put a backup in the place of all records and pictures; what it was, and the old data.

    Raises BackupRefused before anything is touched. Everybody is signed out.
    """
    with _beside_the_media() as work:
        contents = unpack(path, work)
        _check_records(work / RECORDS)
        old = _keep_old(moment)
        with swapped_media(work / MEDIA):
            put_records(work / RECORDS)
    Session.objects.all().delete()
    return contents, old


def _keep_old(moment: datetime) -> Path:
    """What is there before a restore, as a backup; as it lies if it is too damaged for one."""
    try:
        return take_into_folder(Occasion.BEFORE_RESTORE, moment=moment).path
    except DatabaseError:
        return _set_damaged_aside(moment)


def _set_damaged_aside(moment: datetime) -> Path:
    aside = folder() / f"damaged-{moment:%Y-%m-%dT%H-%M-%S}"
    aside.mkdir(parents=True)
    connection.close()
    live = Path(connection.settings_dict["NAME"])
    for path in live.parent.glob(live.name + "*"):
        path.rename(aside / path.name)
    return aside


@contextmanager
def _beside_the_media() -> Iterator[Path]:
    """A folder on the disk of the pictures, so that a rename is enough to swap them."""
    media = Path(settings.MEDIA_ROOT)
    media.parent.mkdir(parents=True, exist_ok=True)
    work = media.with_name(f"restoring-{secrets.token_hex(6)}")
    work.mkdir(mode=0o700)
    try:
        yield work
    finally:
        shutil.rmtree(work, ignore_errors=True)


def _check_records(records: Path) -> None:
    """The file is sound, is this program's, is not from the future, and is brought up to date."""
    try:
        with open_file(records) as alias:
            _check_soundness(alias)
            _check_migrations(alias)
            bring_up_to_date(alias)
            connections[alias].check_constraints()
    except (sqlite3.DatabaseError, DatabaseError, UnicodeDecodeError) as error:
        raise BackupRefused("The records in the backup are damaged: not restored.") from error
    take_keys_out(records)


def _check_soundness(alias: str) -> None:
    with connections[alias].cursor() as cursor:
        # First, since what a file's own schema sets going would be set going by the next line.
        kinds = {row[0] for row in cursor.execute("SELECT type FROM sqlite_master").fetchall()}
        if kinds - {"table", "index"}:
            raise BackupRefused("The records in the backup are not this program's: not restored.")
        if cursor.execute("PRAGMA integrity_check").fetchone() != ("ok",):
            raise BackupRefused("The records in the backup are damaged: not restored.")


def _check_migrations(alias: str) -> None:
    loader = MigrationLoader(connections[alias])
    applied = {key for key in loader.applied_migrations if key[0] == "decaljobs"}
    if not applied:
        raise BackupRefused("The records in the backup are not this program's: not restored.")
    if applied - set(loader.disk_migrations):
        raise BackupRefused("This backup was made by a newer version: update the program first.")


def put_records(records: Path) -> None:
    """A file of records in the place of the live ones, at once for all who read."""
    if connection.vendor != "sqlite":
        bring_up_to_date(DEFAULT_DB_ALIAS)
        with open_file(records) as alias:
            copy_rows(source=alias, target=DEFAULT_DB_ALIAS)
        return
    live_file = connection.settings_dict["NAME"]
    with closing(sqlite3.connect(records)) as file, closing(sqlite3.connect(live_file)) as live:
        live.execute("PRAGMA busy_timeout = 20000")
        live.execute("PRAGMA synchronous = FULL")
        # SQLite's own copy is one transaction on the live file: other connections see the old
        # records until it is done, and the old ones again if it breaks off.
        file.backup(live)
