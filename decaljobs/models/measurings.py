"""Artwork measured at one size for one hand: what was found, kept for the next time."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, ClassVar

from django.db import models

from decaljobs.craft.knife.hand import LEAST_MARGIN, LEAST_SPREAD, MOST_MARGIN, MOST_SPREAD, Hand
from decaljobs.models.artwork import Artwork
from decaljobs.models.choices import within
from decaljobs.models.people import spread_field
from decaljobs.models.projects import HEX_COLOUR

if TYPE_CHECKING:
    from django.db.models.manager import Manager

#: A measuring not heard of for so long has died with its process.
LONGEST = timedelta(minutes=3)


class MeasuringQuerySet(models.QuerySet["Measuring"]):
    def done(self) -> MeasuringQuerySet:
        """Measurings that found something."""
        return self.filter(state=Measuring.State.DONE)


class Measuring(models.Model):
    """One measuring of artwork: the size and hand it is for, and what it found.

    found: the plain values of `craft.guides.to_json`; drawing: rings in mm of the silhouette
    and the light areas, and the rectangle to snip out; done_share: how far it is, 0 to 1.
    """

    class State(models.TextChoices):
        RUNNING = "running", "being measured"
        DONE = "done", "measured"
        FAILED = "failed", "could not be measured"

    artwork = models.ForeignKey(Artwork, on_delete=models.CASCADE, related_name="measurings")
    width_mm = models.DecimalField(max_digits=7, decimal_places=2)
    clear_margin_mm = models.FloatField()
    knife_mm = spread_field()
    lay_down_mm = spread_field()
    band_colour = models.CharField(max_length=7, blank=True, validators=[HEX_COLOUR])
    state = models.CharField(max_length=7, choices=State.choices, default=State.RUNNING)
    begun_at = models.DateTimeField()
    found = models.JSONField(null=True)
    drawing = models.JSONField(null=True)
    problem = models.CharField(max_length=300, blank=True)
    done_share = models.FloatField(default=0, editable=False)

    objects: ClassVar[Manager[Measuring]] = MeasuringQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=[
                    "artwork",
                    "width_mm",
                    "clear_margin_mm",
                    "knife_mm",
                    "lay_down_mm",
                    "band_colour",
                ],
                name="measured_once_a_size_and_hand",
            ),
            models.CheckConstraint(
                condition=models.Q(state__in=["running", "done", "failed"]),
                name="measuring_state_is_known",
            ),
            models.CheckConstraint(
                condition=~models.Q(state="done") | models.Q(found__isnull=False),
                name="measuring_done_has_found",
            ),
            models.CheckConstraint(
                condition=models.Q(done_share__gte=0, done_share__lte=1),
                name="measuring_share_in_range",
            ),
            within(
                "measuring_hand_in_range",
                knife_mm=(LEAST_SPREAD, MOST_SPREAD),
                lay_down_mm=(LEAST_SPREAD, MOST_SPREAD),
                clear_margin_mm=(LEAST_MARGIN, MOST_MARGIN),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.artwork} at {self.width_mm} mm"

    @property
    def hand(self) -> Hand:
        return Hand(self.knife_mm, self.lay_down_mm)

    @property
    def percent_done(self) -> int:
        """How far the measuring is, in whole percent."""
        return round(100 * self.done_share)

    def has_died(self, moment: datetime) -> bool:
        """Whether it still says that it runs, though nothing can be running any more."""
        return self.state == self.State.RUNNING and moment - self.begun_at > LONGEST
