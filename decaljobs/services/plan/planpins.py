"""Pinning work to a session, and letting it go again."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from decaljobs.models import Person, PlanPin
from decaljobs.services.refused import Refused


@transaction.atomic
def pin_work(
    *, works: Sequence[str], person: Person, start: datetime, end: datetime, moment: datetime
) -> None:
    """Hold pieces of work in one session of a person's. Raises Refused for one that is over."""
    if end <= moment:
        raise Refused("This session is over: pin the task to a coming one.")
    if end <= start:
        raise Refused("A session must end after its start.")
    for work in works:
        PlanPin.objects.update_or_create(
            work=work, defaults={"person": person, "starts_at": start, "ends_at": end}
        )


@transaction.atomic
def let_go(*, works: Sequence[str]) -> int:
    """Let pieces of work be planned freely again; how many were pinned."""
    dropped, _ = PlanPin.objects.filter(work__in=works).delete()
    return dropped
