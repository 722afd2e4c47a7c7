"""Keeping who did what, for a year."""

from __future__ import annotations

from datetime import datetime, timedelta

from decaljobs.models import Deed, Person
from decaljobs.services.people.devices import device_name

KEPT = timedelta(days=365)
#: Old lines are dropped with one deed in so many.
SWEPT_EVERY = 500


def note_deed(*, person: Person, agent: str, what: str, path: str, moment: datetime) -> None:
    """Keep one change, and now and then drop those of more than a year ago."""
    deed = Deed.objects.create(
        person=person,
        who=person.get_username(),
        device=device_name(agent),
        what=what[:60],
        path=path[:200],
        at=moment,
    )
    if deed.pk % SWEPT_EVERY == 0:
        Deed.objects.filter(at__lt=moment - KEPT).delete()
