"""Files that belong to records: written with them, and gone again where those are rolled back."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from functools import partial

from django.core.files.base import ContentFile
from django.core.files.storage import Storage
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
