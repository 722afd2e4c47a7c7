"""Moving all records from one kind of database to the other."""

from __future__ import annotations

from pathlib import Path

from django.db import DatabaseError

from decaljobs.models import Person, Project
from decaljobs.services.refused import Refused
from decaljobs.services.safekeeping.row_copy import bring_up_to_date, copy_rows, opened
from workshop.database import postgresql, sqlite


def move_data(source: str, *, replace: bool = False) -> int:
    """All rows of an SQLite file or a PostgreSQL address into the database in use; how many.

    Raises Refused where nothing is found there, or where there are records here already.
    """
    if not replace and (Project.objects.exists() or Person.objects.exists()):
        raise Refused("There are records here already; --replace puts the others in their place.")
    address = "://" in source
    if not address and not Path(source).is_file():
        raise Refused(f"There is no file {source}.")
    settings = postgresql(source) if address else sqlite(Path(source))
    try:
        with opened(settings) as alias:
            bring_up_to_date(alias)
            return copy_rows(source=alias, target="default")
    except DatabaseError as error:
        raise Refused(f"The records cannot be read from {source.rpartition('@')[2]}.") from error
