"""What is to go on the next sheet of film."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from decaljobs.models.decals import Decal
from decaljobs.models.people import Person
from decaljobs.models.pieces import MOST_COPIES

if TYPE_CHECKING:
    from django.db.models.manager import Manager


def _copies() -> models.PositiveSmallIntegerField:
    """Copies as the maker wants them; empty: as many as the record of success asks for."""
    return models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(MOST_COPIES)],
    )


class QueueQuerySet(models.QuerySet["QueuedDecal"]):
    def for_sheet(self) -> QueueQuerySet:
        """In the order of queuing, with what the layout and the page show (one query)."""
        return self.select_related("decal__project", "decal__artwork", "by").order_by(
            "queued_at", "pk"
        )


class QueuedDecal(models.Model):
    """A decal that waits for the next sheet, with copies of each layer where overruled."""

    decal = models.OneToOneField(Decal, on_delete=models.CASCADE, related_name="queued")
    base_copies = _copies()
    clear_copies = _copies()
    queued_at = models.DateTimeField()
    by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    objects: ClassVar[Manager[QueuedDecal]] = QueueQuerySet.as_manager()

    class Meta:
        ordering = ["queued_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=(Q(base_copies=None) | Q(base_copies__range=(1, MOST_COPIES)))
                & (Q(clear_copies=None) | Q(clear_copies__range=(1, MOST_COPIES))),
                name="queued_copies_in_range",
            )
        ]

    def __str__(self) -> str:
        return f"{self.decal.words} for the next sheet"
