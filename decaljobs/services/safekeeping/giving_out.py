"""Everything the workshop has written down, given out: a zip of CSV files, or one JSON file."""

from __future__ import annotations

import json
import re
import zipfile
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from typing import IO, Any

from django.apps import apps
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from decaljobs.craft.tables import guarded
from decaljobs.models import Artwork, Person, Project, Room, Sheet
from decaljobs.services.csv_files import csv_file
from decaljobs.services.one_moment import one_moment

ROWS_AT_ONCE = 2000
#: What is no record of the work, and why it stays behind.
LEFT_OUT = {
    "EnterLink": "one-time links that let somebody in",
    "Device": "which devices are signed in",
    "KeptAnswer": "answers kept for forms that are sent twice",
}
#: Columns that let somebody in, whichever record they stand in.
SECRET = re.compile(r"password|secret|digest|token|session", re.IGNORECASE)
#: Columns of Django's own that nobody here uses.
IDLE = {"first_name", "last_name", "email", "is_staff", "is_superuser", "last_login"}
#: The records that a table names in words rather than by number.
NAMED_BY = {Project: "code", Sheet: "code", Person: "username", Room: "name"}


def tables() -> list[type[models.Model]]:
    """Every kind of record that is given out, by name."""
    kinds = apps.get_app_config("decaljobs").get_models()
    wanted = [kind for kind in kinds if kind.__name__ not in LEFT_OUT]
    return sorted(wanted, key=lambda kind: kind.__name__)


@one_moment()
def write_zip(file: IO[bytes]) -> None:
    """One CSV file a table, as spreadsheets read it: in words where records name each other."""
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        for kind in tables():
            with csv_file(packed, table_name(kind)) as written:
                _write_csv(kind, written)


@one_moment()
def write_json(file: IO[bytes], *, moment: datetime) -> None:
    """One JSON object: when it was made, and every table as a list of records by column."""
    head = {"program": "decaljobs", "given_out_at": moment.astimezone(UTC)}
    file.write(_json(head)[:-1].encode() + b', "tables": {')
    for place, kind in enumerate(tables()):
        file.write(f"{',' if place else ''}\n{json.dumps(table_name(kind))}: [".encode())
        for number, row in enumerate(_rows(kind, [f.attname for f in columns(kind)])):
            record = dict(zip((f.attname for f in columns(kind)), row, strict=True))
            file.write(f"{',' if number else ''}\n{_json(record)}".encode())
        file.write(b"]")
    file.write(b"}}\n")


def table_name(kind: type[models.Model]) -> str:
    """'stage-events' for the records of decals' steps."""
    return str(kind._meta.verbose_name_plural).replace(" ", "-")


def columns(kind: type[models.Model]) -> list[models.Field[Any, Any]]:
    """The columns of a table that are given out."""
    fields = kind._meta.concrete_fields
    return [f for f in fields if not SECRET.search(f.name) and f.name not in IDLE]


def _write_csv(kind: type[models.Model], written: Any) -> None:
    fields = columns(kind)
    written.writerow([field.name for field in fields])
    art = _names_of_artwork() if any(f.related_model is Artwork for f in fields) else {}
    for row in _rows(kind, [_lookup(field) for field in fields]):
        written.writerow(
            _cell(art.get(value, value) if field.related_model is Artwork else value)
            for field, value in zip(fields, row, strict=True)
        )


def _names_of_artwork() -> dict[int, str]:
    return {art.pk: str(art) for art in Artwork.objects.only("name", "version")}


def _lookup(field: models.Field[Any, Any]) -> str:
    named = NAMED_BY.get(field.related_model)  # type: ignore[arg-type]
    return f"{field.name}__{named}" if named else field.attname


def _rows(kind: type[models.Model], names: Iterable[str]) -> Iterator[tuple[Any, ...]]:
    rows = kind._default_manager.order_by("pk").values_list(*names)
    return rows.iterator(chunk_size=ROWS_AT_ONCE)


def _cell(value: Any) -> Any:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
    if isinstance(value, dict | list):
        return guarded(_json(value))
    return guarded(value) if isinstance(value, str) else value


def _json(value: Any) -> str:
    return json.dumps(value, cls=DjangoJSONEncoder, ensure_ascii=False)
