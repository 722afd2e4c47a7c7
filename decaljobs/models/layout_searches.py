"""A search for a better layout of the next sheet, or its squeeze by outline, behind the page."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, ClassVar

from django.db import models

from decaljobs.models.people import Person

if TYPE_CHECKING:
    from django.db.models.manager import Manager

#: What was found is kept so long for the page that asked for it.
KEPT = timedelta(days=1)


class LayoutSearchQuerySet(models.QuerySet["LayoutSearch"]):
    def running(self) -> LayoutSearchQuerySet:
        """Searches that have not ended, or have died with their process."""
        return self.filter(state=LayoutSearch.State.RUNNING)

    def outdated(self, moment: datetime) -> LayoutSearchQuerySet:
        """Searches of yesterday and before."""
        return self.filter(begun_at__lt=moment - KEPT)


class LayoutSearch(models.Model):
    """One search: for which queue and wishes (key), how far it is, the best layout so far.

    asked: the wishes it was begun with; found: the layout as plain values, with the film it
    saves; share: the part of its time that is over (0 to 1).
    """

    class Kind(models.TextChoices):
        BETTER = "better", "a better layout"
        SQUEEZE = "squeeze", "a squeeze by outline"

    class State(models.TextChoices):
        RUNNING = "running", "under way"
        DONE = "done", "done"
        FAILED = "failed", "broken off"

    kind = models.CharField(max_length=7, choices=Kind.choices)
    key = models.CharField(max_length=64)
    state = models.CharField(max_length=7, choices=State.choices, default=State.RUNNING)
    asked = models.JSONField()
    seconds = models.FloatField()
    share = models.FloatField(default=0)
    stop_asked = models.BooleanField(default=False)
    begun_at = models.DateTimeField()
    beat_at = models.DateTimeField()
    found = models.JSONField(null=True)
    problem = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    objects: ClassVar[Manager[LayoutSearch]] = LayoutSearchQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "key"], name="searched_once_for_a_layout"),
            models.CheckConstraint(
                condition=models.Q(kind__in=["better", "squeeze"]), name="search_kind_is_known"
            ),
            models.CheckConstraint(
                condition=models.Q(state__in=["running", "done", "failed"]),
                name="search_state_is_known",
            ),
            models.CheckConstraint(
                condition=models.Q(share__gte=0, share__lte=1), name="search_share_in_range"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.get_state_display()}"

    @property
    def is_running(self) -> bool:
        return self.state == self.State.RUNNING

    @property
    def percent(self) -> int:
        """How much of its time is over."""
        return round(100 * self.share)
