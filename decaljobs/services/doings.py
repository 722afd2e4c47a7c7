"""Keeping who did what, for a year."""

from __future__ import annotations

from datetime import datetime, timedelta

from decaljobs.models import Doing, Person
from decaljobs.services.devices import device_name

KEPT = timedelta(days=365)
#: Old lines are dropped with one doing in so many.
SWEPT_EVERY = 500


def note_doing(*, person: Person, agent: str, what: str, path: str, moment: datetime) -> None:
    """Keep one change, and now and then drop those of more than a year ago."""
    doing = Doing.objects.create(
        person=person,
        who=person.get_username(),
        device=device_name(agent),
        what=what[:60],
        path=path[:200],
        at=moment,
    )
    if doing.pk % SWEPT_EVERY == 0:
        Doing.objects.filter(at__lt=moment - KEPT).delete()
