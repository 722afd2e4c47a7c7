"""Backups of records and pictures: by hand, every day, and before the records are changed."""

from __future__ import annotations

import re
import shutil
import sqlite3
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from pathlib import Path

from django.conf import settings
from django.contrib.sessions.models import Session
from django.db import connection
from django.db.models import Model
from django_tasks_db.models import DBTaskResult

from decaljobs.services.safekeeping.backup_file import RECORDS, BackupRefused, pack, read_contents
from decaljobs.services.safekeeping.row_copy import (
    KEYS,
    LIVE,
    copy_rows,
    open_file,
    opened,
    steps_taken,
    take_steps,
)
from workshop import VERSION

#: So many of each automatic kind are kept.
KEPT = 7
#: Rows that let somebody in have no place in a file that is carried about, nor has work under way.
_LEFT_OUT: tuple[type[Model], ...] = (*KEYS, Session, DBTaskResult)
KEY_TABLES = tuple(model._meta.db_table for model in _LEFT_OUT)
_NAME = re.compile(r"(daily|before-update|before-restore|by-hand|brought)-[0-9T-]+\.zip")


class Occasion(StrEnum):
    """Why a backup was made; it begins the file's name."""

    DAILY = "daily"
    BEFORE_UPDATE = "before-update"
    BEFORE_RESTORE = "before-restore"
    BY_HAND = "by-hand"
    BROUGHT = "brought"

    @property
    def words(self) -> str:
        return self.value.replace("-", " ")


AUTOMATIC = (Occasion.DAILY, Occasion.BEFORE_UPDATE)


@dataclass(frozen=True, slots=True)
class Kept:
    """A backup that lies in the folder of backups."""

    path: Path
    made_at: datetime
    size: int

    @property
    def name(self) -> str:
        return self.path.name

    @property
    def occasion(self) -> Occasion:
        return next(kind for kind in Occasion if self.name.startswith(kind.value))


def folder() -> Path:
    """Where backups lie, beside the records."""
    return Path(settings.BACKUP_FOLDER)


def take_backup(target: Path, *, moment: datetime) -> None:
    """Write records and pictures as they are at this moment into one file.

    Others may write meanwhile. Raises BackupRefused, and leaves nothing half written.
    """
    try:
        with _work_folder() as work:
            records = work / RECORDS
            _copy_records(records)
            pack(target, records=records, moment=moment, version=VERSION)
    except OSError as error:
        raise BackupRefused(f"The backup could not be written: {error.strerror}.") from error


@contextmanager
def _work_folder() -> Iterator[Path]:
    """A folder on the disk of the records, gone afterwards."""
    home = folder()
    home.mkdir(parents=True, exist_ok=True, mode=0o700)
    work = Path(tempfile.mkdtemp(prefix="working-", dir=home))
    try:
        yield work
    finally:
        shutil.rmtree(work, ignore_errors=True)


def _copy_records(records: Path) -> None:
    """All that is committed, as one SQLite file without anything that lets somebody in."""
    # A connection of its own, since the usual one may stand in a transaction.
    if connection.vendor == "sqlite":
        # Copying the file itself would tear pages that are being written.
        with closing(connection.copy()) as own, own.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [str(records)])
    else:
        with opened(connection.settings_dict, LIVE) as live, open_file(records) as file:
            # As far as the live records are, which before an update is not all the way.
            steps = steps_taken(live)
            take_steps(file, steps)
            if steps:  # a new database has no tables yet
                copy_rows(source=live, target=file)
    take_keys_out(records)


def take_keys_out(records: Path) -> None:
    """Remove what lets somebody in from a file of records, not leaving it in empty pages."""
    with closing(sqlite3.connect(records)) as file:
        file.execute("PRAGMA secure_delete = ON")
        file.execute("PRAGMA journal_mode = DELETE")
        known = {row[0] for row in file.execute("SELECT name FROM sqlite_master")}
        for table in known.intersection(KEY_TABLES):
            file.execute(f"DELETE FROM {table}")  # noqa: S608
        file.commit()


def take_into_folder(occasion: Occasion, *, moment: datetime) -> Kept:
    """A backup in the folder of backups; of each automatic kind the newest seven stay."""
    target = _place(occasion, moment)
    take_backup(target, moment=moment)
    _drop_old(occasion)
    return _kept(target)


def keep_brought(chunks: Iterable[bytes], *, moment: datetime) -> Kept:
    """A backup that somebody brought along, laid into the folder. Raises BackupRefused."""
    target = _place(Occasion.BROUGHT, moment)
    half = target.with_name(target.name + ".part")
    try:
        with half.open("xb") as file:
            for chunk in chunks:
                file.write(chunk)
        read_contents(half)
        half.replace(target)
    finally:
        half.unlink(missing_ok=True)
    return _kept(target)


def _place(occasion: Occasion, moment: datetime) -> Path:
    home = folder()
    try:
        home.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        raise BackupRefused(f"The backup could not be written: {error.strerror}.") from error
    return home / f"{occasion.value}-{moment.astimezone(UTC):%Y-%m-%dT%H-%M-%S}.zip"


def _drop_old(occasion: Occasion) -> None:
    if occasion in AUTOMATIC:
        same = [kept for kept in all_kept() if kept.occasion == occasion]
        for kept in same[KEPT:]:
            kept.path.unlink(missing_ok=True)


def all_kept() -> list[Kept]:
    """The backups in the folder, newest first."""
    paths = folder().glob("*.zip") if folder().is_dir() else ()
    found = [_kept(path) for path in paths if _NAME.fullmatch(path.name)]
    return sorted(found, key=lambda kept: (kept.made_at, kept.name), reverse=True)


def find_kept(name: str) -> Kept | None:
    """A backup in the folder by its name, and nothing outside it."""
    return next((kept for kept in all_kept() if kept.name == name), None)


def _kept(path: Path) -> Kept:
    stamp = path.stem[-len("2026-01-01T00-00-00") :]
    made_at = datetime.strptime(stamp, "%Y-%m-%dT%H-%M-%S").replace(tzinfo=UTC)
    return Kept(path, made_at, path.stat().st_size)


def take_daily(moment: datetime) -> Kept | None:
    """The day's backup, if it is not there yet and nobody else is writing it."""
    if not daily_is_due(moment):
        return None
    return take_into_folder(Occasion.DAILY, moment=moment)


def daily_is_due(moment: datetime) -> bool:
    """Whether no daily backup was made on this day (UTC)."""
    today = moment.astimezone(UTC).date()
    return not any(
        kept.occasion == Occasion.DAILY and kept.made_at.date() >= today for kept in all_kept()
    )
