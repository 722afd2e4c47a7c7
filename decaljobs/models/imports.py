"""Files of readings on their way into a room's records."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from django.db import models
from django.db.models import Q

from decaljobs.links import address
from decaljobs.models.people import Person
from decaljobs.models.rooms import Room

if TYPE_CHECKING:
    from django.db.models.manager import Manager


class ImportState(models.TextChoices):
    UPLOADED = "uploaded", "to be looked at"
    READING = "reading", "being read"
    READ = "read", "read, waiting for your word"
    SAVING = "saving", "being saved"
    SAVED = "saved", "saved"
    FAILED = "failed", "failed"
    DROPPED = "dropped", "left out"


AT_WORK = (ImportState.READING, ImportState.SAVING)
OPEN = (ImportState.UPLOADED, ImportState.READ, *AT_WORK)


class ImportQuerySet(models.QuerySet["ReadingsImport"]):
    def open(self) -> ImportQuerySet:
        """Imports that still wait for work or for a word, newest first."""
        return self.filter(state__in=OPEN).order_by("-pk")


class ReadingsImport(models.Model):
    """One file of readings: how it is to be read, how far that is, and what was found.

    beat_at: when the work last said that it goes on; found: what reading it brought to light.
    """

    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="imports")
    by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    made_at = models.DateTimeField()
    name = models.CharField(max_length=200)
    file = models.FileField(upload_to="imports", max_length=120)
    layout = models.JSONField(default=dict)
    state = models.CharField(
        max_length=8, choices=ImportState.choices, default=ImportState.UPLOADED
    )
    rows_all = models.PositiveIntegerField(default=0)
    rows_done = models.PositiveIntegerField(default=0)
    beat_at = models.DateTimeField(null=True)
    found = models.JSONField(default=dict)
    message = models.CharField(max_length=400, blank=True)

    objects: ClassVar[Manager[ReadingsImport]] = ImportQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=ImportState.values), name="import_state_is_known"
            ),
            models.CheckConstraint(
                condition=Q(rows_done__lte=models.F("rows_all")), name="import_done_within_all"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return address("import", self.pk)

    @property
    def is_at_work(self) -> bool:
        return self.state in AT_WORK

    @property
    def bad_lines(self) -> list[list[Any]]:
        """Numbers of lines that could not be taken, each with the reason; the first of them."""
        return self.found.get("bad", [])
