"""Moving all records from one kind of database to the other."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from django.db import DEFAULT_DB_ALIAS, DatabaseError

from decaljobs.models import Person, Project
from decaljobs.services.refused import Refused
from decaljobs.services.safekeeping.row_copy import (
    bring_up_to_date,
    copy_rows,
    open_file,
    opened,
    steps_taken,
)
from workshop.database import postgresql


def move_data(source: str, *, replace: bool = False) -> int:
    """All rows of an SQLite file or a PostgreSQL address into the database in use; how many.

    Raises Refused where nothing is found there, or where there are records here already.
    """
    if not replace and _is_lived_in():
        raise Refused("There are records here already; --replace puts the others in their place.")
    address = "://" in source
    if not address and not Path(source).is_file():
        raise Refused(f"There is no file {source}.")
    try:
        with opened(postgresql(source)) if address else open_file(Path(source)) as alias:
            bring_up_to_date(alias)
            bring_up_to_date(DEFAULT_DB_ALIAS)
            return copy_rows(source=alias, target=DEFAULT_DB_ALIAS)
    except (sqlite3.DatabaseError, DatabaseError) as error:
        raise Refused(f"The records cannot be read from {source.rpartition('@')[2]}.") from error


def _is_lived_in() -> bool:
    """Whether there are records here; a new database has no tables even."""
    tables = bool(steps_taken(DEFAULT_DB_ALIAS))
    return tables and (Project.objects.exists() or Person.objects.exists())
