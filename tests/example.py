"""The example workshop for tests: made once in each process, then laid out from what was kept.

Making it measures artwork and draws pictures for seconds; a test that wants it furnished has no
interest in that.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from django.apps import apps
from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, transaction
from django.db.models import Model

from decaljobs.models import Person, Project
from decaljobs.services.demo.loading import load_demo
from decaljobs.services.safekeeping.row_copy import count_on, empty, write_rows


@dataclass(frozen=True)
class Kept:
    """All rows, and all files by their names."""

    rows: dict[type[Model], list[tuple[Any, ...]]]
    files: dict[str, bytes]


_kept: dict[datetime, Kept] = {}


def lay_out_example(moment: datetime) -> None:
    """What `load_demo` makes, rows and files, in a workshop in which nobody has begun anything."""
    if Person.objects.exists() or Project.objects.exists():
        load_demo(moment=moment)
    elif moment in _kept:
        _lay_out(_kept[moment])
    else:
        load_demo(moment=moment)
        _kept[moment] = _keep()


def _keep() -> Kept:
    rows = {
        kind: list(kind._base_manager.order_by("pk").values_list(*_names(kind)))
        for kind in apps.get_app_config("decaljobs").get_models(include_auto_created=True)
    }
    media = Path(settings.MEDIA_ROOT)
    files = [path for path in media.rglob("*") if path.is_file()]
    return Kept(rows, {path.relative_to(media).as_posix(): path.read_bytes() for path in files})


def _names(kind: type[Model]) -> list[str]:
    return [field.attname for field in kind._meta.concrete_fields]


def _lay_out(kept: Kept) -> None:
    kinds = list(kept.rows)
    with transaction.atomic():
        empty(kinds, DEFAULT_DB_ALIAS)
        for kind, rows in kept.rows.items():
            write_rows(kind, iter(rows), DEFAULT_DB_ALIAS)
        count_on(kinds, DEFAULT_DB_ALIAS)
    for name, data in kept.files.items():
        path = Path(settings.MEDIA_ROOT) / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
