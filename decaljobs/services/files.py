"""Files that belong to records: written with them, and gone again where those are rolled back.

Nobody else knows where they are kept, which may be no folder of this machine.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import IO, Any

from django.conf import settings
from django.core.files.base import ContentFile, File
from django.core.files.storage import FileSystemStorage, Storage, default_storage
from django.db import transaction
from django.db.models.fields.files import FieldFile

#: Files written so far by the outermost `atomic_with_files` that runs.
_written: ContextVar[list[tuple[Storage, str]] | None] = ContextVar("written", default=None)


@contextmanager
def atomic_with_files() -> Iterator[None]:
    """As `transaction.atomic`, and files kept within are deleted if it is rolled back.

    It can be nested; a function that calls another which keeps files must use it too, or its
    own failure later would leave them behind.
    """
    written = _written.get()
    outermost = written is None
    written = [] if written is None else written
    before = len(written)
    token = _written.set(written)
    try:
        with transaction.atomic():
            yield
    except BaseException:
        # The records were rolled back; a file has no such way back of its own.
        for storage, name in written[before:]:
            with suppress(OSError):
                storage.delete(name)
        del written[before:]
        raise
    finally:
        _written.reset(token)
        if outermost:
            written.clear()


def keep_file(field: FieldFile, name: str, data: bytes) -> None:
    """Write a record's file; within `atomic_with_files` it shares the record's fate."""
    written = _written.get()
    field.save(name, ContentFile(data), save=False)
    if written is not None:
        written.append((field.storage, str(field.name)))


def drop_file(field: FieldFile) -> None:
    """Delete a record's file once its change is certain: unlike a row it cannot be brought back."""
    if field.name:
        transaction.on_commit(partial(field.storage.delete, field.name))


def media_folder() -> Path | None:
    """The folder in which the files lie; None where they are kept elsewhere."""
    return Path(settings.MEDIA_ROOT) if isinstance(default_storage, FileSystemStorage) else None


def place_of(name: str) -> str:
    """Where a file is to be found, for who is at the terminal."""
    folder = media_folder()
    return str(folder / name) if folder else name


def media_names(folder: str = "") -> Iterator[str]:
    """The name of every file, in order."""
    try:
        folders, files = default_storage.listdir(folder)
    except FileNotFoundError:  # a folder is made with the first file in it
        return
    for name in sorted([*folders, *filter(None, files)]):
        place = f"{folder}/{name}" if folder else name
        if name in folders:
            yield from media_names(place)
        else:
            yield place


def open_media(name: str) -> Any:
    """A file to be read, in a `with`. Raises FileNotFoundError."""
    return default_storage.open(name, "rb")


def put_media(name: str, source: IO[bytes]) -> None:
    """A file under exactly this name, in the place of what bears it. Raises OSError."""
    default_storage.delete(name)
    kept = default_storage.save(name, File(source))
    if kept != name:
        default_storage.delete(kept)
        raise OSError(f"{name} could not be put in its place")


def drop_media(name: str) -> None:
    """Delete a file that no record names."""
    default_storage.delete(name)


def media_written_at(name: str) -> datetime:
    """When a file was last written."""
    return default_storage.get_modified_time(name)
