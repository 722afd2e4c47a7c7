"""Panels of a model, and where on them its decals sit."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from decaljobs.craft.placing import LARGEST_PANEL_MM, SMALLEST_PANEL_MM
from decaljobs.models.decals import Decal
from decaljobs.models.projects import Project

if TYPE_CHECKING:
    from django.db.models.manager import Manager


def _side() -> models.DecimalField:
    within = [MinValueValidator(SMALLEST_PANEL_MM), MaxValueValidator(LARGEST_PANEL_MM)]
    return models.DecimalField(max_digits=7, decimal_places=2, validators=within)


class PanelQuerySet(models.QuerySet["Panel"]):
    def with_decals(self) -> PanelQuerySet:
        """Panels with what is placed on them and its art, in the order made (2 queries)."""
        placings = Placing.objects.select_related("decal__artwork").order_by(
            "decal__place", "decal__number"
        )
        return self.prefetch_related(models.Prefetch("placings", placings)).order_by("pk")


class Panel(models.Model):
    """A flat part of a model, seen from outside: its name and its size on the model in mm."""

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="panels")
    name = models.CharField(max_length=60)
    width_mm = _side()
    height_mm = _side()

    objects: ClassVar[Manager[Panel]] = PanelQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["project", "name"], name="panel_once_a_project"),
            models.CheckConstraint(
                condition=Q(
                    width_mm__gte=SMALLEST_PANEL_MM,
                    width_mm__lte=LARGEST_PANEL_MM,
                    height_mm__gte=SMALLEST_PANEL_MM,
                    height_mm__lte=LARGEST_PANEL_MM,
                ),
                name="panel_size_in_range",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Placing(models.Model):
    """Where a decal sits: its centre in mm from the panel's lower left corner, and its turn
    in degrees, anticlockwise."""

    decal = models.OneToOneField(Decal, on_delete=models.CASCADE, related_name="placing")
    panel = models.ForeignKey(Panel, on_delete=models.CASCADE, related_name="placings")
    x_mm = models.DecimalField(max_digits=7, decimal_places=2)
    y_mm = models.DecimalField(max_digits=7, decimal_places=2)
    turn = models.DecimalField(max_digits=4, decimal_places=1, default=0)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(turn__gte=0, turn__lt=360), name="placing_turn_within_a_circle"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.decal} on {self.panel}"
