"""One record, locked for a change."""

from __future__ import annotations

from typing import TypeVar

from django.db.models import Model, QuerySet

from decaljobs.services.refused import Refused

Record = TypeVar("Record", bound=Model)


def lock_record(records: QuerySet[Record], pk: int, what: str) -> Record:
    """The record with this number, so that nobody else changes it meanwhile.

    what: what it is called at the bench. Raises Refused where it is gone.
    """
    found = records.select_for_update(of=("self",)).filter(pk=pk).first()
    if found is None:
        raise Refused(f"This {what} is no longer there.")
    return found
