"""Saving a few columns of many records at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db import connection
from django.db.models import Model


def save_columns(records: Sequence[Model], names: Sequence[str]) -> None:
    """Save these columns of records of one kind that are there already.

    One prepared statement for all: Django's own bulk_update spends seconds on a thousand.
    """
    if not records:
        return
    meta = type(records[0])._meta
    named = {field.name: field for field in meta.concrete_fields}
    columns = [named[name] for name in names]
    quote = connection.ops.quote_name
    settings = ", ".join(f"{quote(str(column.column))} = %s" for column in columns)
    update = f"UPDATE {quote(meta.db_table)} SET {settings} WHERE id = %s"  # noqa: S608
    with connection.cursor() as cursor:
        cursor.executemany(update, [_row(record, columns) for record in records])


def _row(record: Model, columns: Sequence[Any]) -> list[Any]:
    values = [c.get_db_prep_save(getattr(record, c.attname), connection) for c in columns]
    return [*values, record.pk]
