"""The browsers that people are signed in with."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, ClassVar

from django.contrib.sessions.models import Session
from django.db import models
from django.db.models import F, Q

from decaljobs.models.people import Person

if TYPE_CHECKING:
    from django.db.models.manager import Manager


class DeviceQuerySet(models.QuerySet["Device"]):
    def let_in(self, person: Person, moment: datetime) -> DeviceQuerySet:
        """The devices that a person is signed in with at the moment, last seen first."""
        return self.let_in_anybody(moment).filter(person=person)

    def let_in_anybody(self, moment: datetime) -> DeviceQuerySet:
        """Everybody's devices that are signed in at the moment, last seen first."""
        live = self.filter(session__expire_date__gt=moment)
        return live.select_related("person").order_by("-seen_at", "-pk")


class Device(models.Model):
    """One browser that somebody is signed in with; it goes when its way in goes."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="devices")
    session = models.OneToOneField(Session, on_delete=models.CASCADE, related_name="device")
    name = models.CharField(max_length=80)
    came_at = models.DateTimeField()
    seen_at = models.DateTimeField()

    objects: ClassVar[Manager[Device]] = DeviceQuerySet.as_manager()

    class Meta:
        ordering = ["-seen_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(seen_at__gte=F("came_at")), name="device_seen_after_it_came"
            )
        ]

    def __str__(self) -> str:
        return self.name
