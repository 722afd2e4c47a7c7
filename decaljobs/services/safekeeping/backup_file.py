"""The backup file: a zip of the records, the pictures, and a list of both with their checksums.

The records lie in it as one SQLite file whichever database is in use, so that a backup made on
one can be restored into the other. Pictures are packed as they are; only the records are
compressed. Devices signed in and links that let somebody in are left out.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import stat
import zipfile
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path, PurePosixPath
from typing import IO, Any

from decaljobs.services.files import media_names, open_media
from decaljobs.services.refused import Refused

WHAT = "decaljobs backup"
FORMAT = 1
CONTENTS = "contents.json"
RECORDS = "records.sqlite3"
MEDIA = "media/"
#: A list of contents longer than this is none of ours, bytes.
LONGEST_CONTENTS = 64 * 1024 * 1024
#: Records never shrink to less than one part in so many; a bomb does.
MOST_SHRUNK = 250
CHUNK = 1024 * 1024
#: No entry of a zip can be older.
EARLIEST = (1980, 1, 1, 0, 0, 0)


class BackupRefused(Refused):
    """The file is no backup that can be restored here."""


@dataclass(frozen=True, slots=True)
class Contents:
    """What a backup says of itself; files are (name, bytes, SHA-256)."""

    made_at: datetime
    version: str
    files: tuple[tuple[str, int, str], ...]

    @property
    def total(self) -> int:
        """Bytes of everything in it, unpacked."""
        return sum(size for _, size, _ in self.files)


def pack(target: Path, *, records: Path, moment: datetime, version: str) -> Contents:
    """Write the backup file; a file of this name that is there already is not replaced.

    It is written beside its place first, so that half a backup never bears a backup's name.
    """
    half = target.with_name(target.name + ".part")
    try:
        with zipfile.ZipFile(half, "x") as packed:
            with records.open("rb") as source:
                files = [_add(packed, RECORDS, source, moment, zipfile.ZIP_DEFLATED)]
            for name in media_names():
                if (added := _add_if_there(packed, name, moment)) is not None:
                    files.append(added)
            contents = Contents(moment, version, tuple(files))
            packed.writestr(CONTENTS, _as_json(contents))
        if target.exists():
            raise BackupRefused(f"There is a file {target.name} already: name another.")
        half.replace(target)
    except FileExistsError as error:
        raise BackupRefused(f"Another backup is being written to {target.name}.") from error
    except BaseException:
        half.unlink(missing_ok=True)
        raise
    return contents


def _add_if_there(
    packed: zipfile.ZipFile, name: str, moment: datetime
) -> tuple[str, int, str] | None:
    """Add a picture; one that was removed since all were listed belongs to no record."""
    try:
        with open_media(name) as source:
            return _add(packed, MEDIA + name, source, moment, zipfile.ZIP_STORED)
    except FileNotFoundError:
        return None


def _add(
    packed: zipfile.ZipFile, name: str, source: IO[bytes], moment: datetime, how: int
) -> tuple[str, int, str]:
    entry = zipfile.ZipInfo(name, max(moment.timetuple()[:6], EARLIEST))
    entry.external_attr = (stat.S_IFREG | 0o600) << 16
    # Level 1: the records shrink to about the same, in a fifth of the time.
    entry.compress_type, entry._compresslevel = how, 1  # type: ignore[attr-defined]
    with packed.open(entry, "w", force_zip64=True) as target:
        size, digest = _copy(source, target)
    return name, size, digest


def _copy(source: IO[bytes], target: IO[bytes], most: int | None = None) -> tuple[int, str]:
    """Copy and count; no more than ``most`` bytes."""
    size, digest = 0, hashlib.sha256()
    while chunk := source.read(CHUNK):
        size += len(chunk)
        if most is not None and size > most:
            raise BackupRefused("The backup holds more than it says: it is not restored.")
        digest.update(chunk)
        target.write(chunk)
    return size, digest.hexdigest()


def _as_json(contents: Contents) -> str:
    return json.dumps(
        {
            "what": WHAT,
            "format": FORMAT,
            "made_at": contents.made_at.isoformat(),
            "version": contents.version,
            "files": [
                {"name": name, "bytes": size, "sha256": digest}
                for name, size, digest in contents.files
            ],
        },
        indent=1,
    )


def read_contents(path: Path) -> Contents:
    """What a backup says of itself, its entries compared with that. Raises BackupRefused."""
    try:
        with zipfile.ZipFile(path) as packed:
            contents = _contents(packed)
            _compare(packed, contents)
            return contents
    except (OSError, zipfile.BadZipFile, ValueError, KeyError, TypeError, RuntimeError) as error:
        raise BackupRefused(f"{path.name} is no backup of this program.") from error


def _contents(packed: zipfile.ZipFile) -> Contents:
    if packed.getinfo(CONTENTS).file_size > LONGEST_CONTENTS:
        raise BackupRefused("The backup's list of contents is too long: it is not restored.")
    said: dict[str, Any] = json.loads(packed.read(CONTENTS))
    if said["what"] != WHAT:
        raise ValueError(said["what"])
    if said["format"] != FORMAT:
        raise BackupRefused("This backup was made by a newer version: update the program first.")
    files = tuple((str(f["name"]), int(f["bytes"]), str(f["sha256"])) for f in said["files"])
    return Contents(datetime.fromisoformat(said["made_at"]), str(said["version"]), files)


def _compare(packed: zipfile.ZipFile, contents: Contents) -> None:
    """Every entry is listed once, is a plain file with a harmless name, and is no bomb."""
    listed = {name: size for name, size, _ in contents.files}
    entries = [entry for entry in packed.infolist() if entry.filename != CONTENTS]
    names = [entry.filename for entry in entries]
    if sorted(names) != sorted(listed) or len(listed) != len(contents.files):
        raise BackupRefused("The backup does not hold the files that it lists: it is not restored.")
    if RECORDS not in listed:
        raise BackupRefused("The backup holds no records: it is not restored.")
    for entry in entries:
        _check_entry(entry, listed[entry.filename])


def _check_entry(entry: zipfile.ZipInfo, size: int) -> None:
    name = entry.filename
    parts = PurePosixPath(name).parts
    harmless = name == RECORDS or (
        name.startswith(MEDIA)
        and not any(part in ("..", ".", "/") for part in parts)
        and not any(sign in name for sign in "\\:\0")
        and name == PurePosixPath(name).as_posix()
    )
    if not harmless or stat.S_ISLNK(entry.external_attr >> 16) or entry.is_dir():
        raise BackupRefused("The backup holds a file with a name of another kind: not restored.")
    shrunk = MOST_SHRUNK if name == RECORDS else 1
    if entry.file_size != size or size > max(entry.compress_size, 1) * shrunk:
        raise BackupRefused("The backup holds more than it says: it is not restored.")


def unpack(path: Path, folder: Path) -> Contents:
    """Unpack a backup into a new folder, every checksum compared. Raises BackupRefused."""
    contents = read_contents(path)
    free = shutil.disk_usage(folder.parent).free
    if contents.total > free:
        raise BackupRefused(
            f"The disk has no room for this backup: {contents.total / 1e6:,.0f} MB are needed, "
            f"{free / 1e6:,.0f} MB are free."
        )
    (folder / MEDIA).mkdir(parents=True)
    try:
        with zipfile.ZipFile(path) as packed:
            for name, size, digest in contents.files:
                _unpack_one(packed, folder, name, size, digest)
    except (OSError, zipfile.BadZipFile, RuntimeError, EOFError) as error:
        raise BackupRefused("The backup is damaged: it is not restored.") from error
    return contents


def _unpack_one(packed: zipfile.ZipFile, folder: Path, name: str, size: int, digest: str) -> None:
    target = folder / name
    target.parent.mkdir(parents=True, exist_ok=True)
    with packed.open(name) as source, target.open("xb") as written:
        found = _copy(source, written, most=size)
    if found != (size, digest):
        raise BackupRefused(f"{name} in the backup is damaged: it is not restored.")
