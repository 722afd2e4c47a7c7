"""All rows of the workshop from one database into another, whichever kinds they are."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import AbstractContextManager, closing, contextmanager
from itertools import islice
from pathlib import Path
from typing import Any

from django.apps import apps
from django.apps.registry import Apps
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import connections, transaction
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import Model
from django.db.utils import load_backend

from decaljobs.models import Device, EnterLink, KeptAnswer
from workshop.database import sqlite

#: The names under which Django knows another database while it is read or written here, and the
#: live one when it is read on a connection of its own.
OTHER, LIVE = "other", "live"
BATCH = 1000
#: What lets somebody in, or answers a form sent twice: nothing to carry about.
KEYS: tuple[type[Model], ...] = (Device, EnterLink, KeptAnswer)


@contextmanager
def opened(settings: dict[str, Any], alias: str = OTHER) -> Iterator[str]:
    """A database as one of Django's, under the name that is given."""
    whole = connections.configure_settings({"default": {}, alias: settings})[alias]
    connection = load_backend(whole["ENGINE"]).DatabaseWrapper(whole, alias)
    # Reached before it is made known, so that what cannot be reached leaves nothing behind.
    connection.ensure_connection()
    connections.databases[alias] = whole
    connections[alias] = connection
    try:
        yield alias
    finally:
        connection.close()
        del connections[alias]
        del connections.databases[alias]


def open_file(path: Path) -> AbstractContextManager[str]:
    """An SQLite file as one of Django's databases; sqlite3.DatabaseError if it is none."""
    with closing(sqlite3.connect(path)) as file:
        file.execute("PRAGMA schema_version")  # Django would leave open what it cannot read
    return opened(sqlite(path))


def bring_up_to_date(alias: str) -> None:
    """Apply all migrations that a database lacks."""
    call_command("migrate", database=alias, interactive=False, verbosity=0)


def steps_taken(alias: str) -> list[tuple[str, str]]:
    """The migrations that a database has been through, of those known here."""
    loader = MigrationLoader(connections[alias])
    return [key for key in loader.applied_migrations if key in loader.disk_migrations]


def take_steps(alias: str, steps: list[tuple[str, str]]) -> None:
    """Give a new database the tables that these migrations lead to, all at once: a step at a time
    takes thirty times as long."""
    connection = connections[alias]
    kinds = MigrationLoader(connection).project_state(steps).apps
    with connection.schema_editor() as editor:
        for model in kinds.get_models():
            if model._meta.managed and not model._meta.proxy:
                editor.create_model(model)
    taken = MigrationRecorder(connection)
    taken.ensure_schema()
    for app, name in steps:
        taken.record_applied(app, name)


def record_models(kinds: Apps = apps) -> list[type[Model]]:
    """Every kind of record that is the workshop's own, as it stands in one set of models.

    Left out are rows that Django makes by itself, and what lets somebody in.
    """
    own = kinds.get_app_config("decaljobs").get_models(include_auto_created=True)
    known = {model._meta.label for model in KEYS}
    return [m for m in own if m._meta.label not in known and not _reaches_outside(m)]


def _reaches_outside(model: type[Model]) -> bool:
    """Whether it ties a record to Django's own, as the unused groups of people do."""
    return any(
        field.is_relation and field.related_model._meta.app_label != "decaljobs"
        for field in model._meta.concrete_fields
        if field.related_model is not None
    )


def copy_rows(*, source: str, target: str) -> int:
    """Put all rows of one database in the place of another's; how many they were.

    Both have been through the same migrations, maybe not all of them. All or nothing: one
    transaction reads, one writes. References are checked at its end.
    """
    kinds = MigrationLoader(connections[source]).project_state(steps_taken(source)).apps
    models = record_models(kinds)
    keys = [kinds.get_model(model._meta.label) for model in KEYS if _has(kinds, model)]
    with transaction.atomic(using=source), transaction.atomic(using=target):
        _read_one_moment(source)
        empty([*models, *keys], target)
        copied = sum(write_rows(model, _rows(model, source), target) for model in models)
        count_on(models, target)
    return copied


def _has(kinds: Apps, model: type[Model]) -> bool:
    return model._meta.model_name in kinds.all_models["decaljobs"]


def _read_one_moment(alias: str) -> None:
    """What others write meanwhile is not seen. SQLite reads so by itself."""
    connection = connections[alias]
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")


def _rows(model: type[Model], alias: str) -> Iterator[tuple[Any, ...]]:
    names = [field.attname for field in model._meta.concrete_fields]
    rows = model._base_manager.using(alias).order_by("pk").values_list(*names)
    return iter(rows.iterator(BATCH))


def empty(models: list[type[Model]], alias: str) -> None:
    """Remove all rows of these kinds; references are looked at when the transaction ends."""
    connection = connections[alias]
    with connection.cursor() as cursor:
        for model in models:
            table = connection.ops.quote_name(model._meta.db_table)
            cursor.execute(f"DELETE FROM {table}")  # noqa: S608


def write_rows(model: type[Model], rows: Iterator[tuple[Any, ...]], alias: str) -> int:
    """Add rows, each with the values of all fields in their order; how many they were."""
    fields: list[Any] = list(model._meta.concrete_fields)
    connection = connections[alias]
    quote = connection.ops.quote_name
    columns = ", ".join(quote(field.column) for field in fields)
    places = ", ".join(["%s"] * len(fields))
    insert = f"INSERT INTO {quote(model._meta.db_table)} ({columns}) VALUES ({places})"  # noqa: S608
    written = 0
    with connection.cursor() as cursor:
        while batch := list(islice(rows, BATCH)):
            cursor.executemany(insert, [_prepared(fields, row, connection) for row in batch])
            written += len(batch)
    return written


def _prepared(fields: list[Any], row: tuple[Any, ...], connection: Any) -> list[Any]:
    return [
        field.get_db_prep_save(value, connection) for field, value in zip(fields, row, strict=True)
    ]


def count_on(models: list[type[Model]], alias: str) -> None:
    """New rows get numbers after the copied ones."""
    connection = connections[alias]
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), models):
            cursor.execute(statement)
