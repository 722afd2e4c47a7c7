"""Colour trials: rounds of printed patches towards one paint, and the recipes they end in."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from django.db import models
from django.db.models import Q

from decaljobs.links import address
from decaljobs.models.finding import holds_words
from decaljobs.models.people import Person
from decaljobs.models.projects import HEX_COLOUR

if TYPE_CHECKING:
    from django.db.models.manager import Manager


class Material(models.TextChoices):
    PAPER = "paper", "plain paper"
    FILM = "film", "film"


class TrialQuerySet(models.QuerySet["Trial"]):
    def found(self, words: str) -> TrialQuerySet:
        """Trials whose paint, or whose recipe's colour or printer, holds the words."""
        return self.filter(holds_words(words, "paint", "recipe__colour", "recipe__printer"))

    def with_counts(self) -> TrialQuerySet:
        """Each trial with its rounds counted and its recipe, newest first (one query)."""
        return (
            self.annotate(round_count=models.Count("rounds"))
            .select_related("recipe")
            .order_by("-begun_at", "-pk")
        )


class Trial(models.Model):
    """A trial towards one paint, from a first guess."""

    paint = models.CharField(max_length=120)
    start = models.CharField(max_length=7, validators=[HEX_COLOUR])
    begun_at = models.DateTimeField()
    by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")
    example = models.BooleanField(default=False, editable=False)

    objects: ClassVar[Manager[Trial]] = TrialQuerySet.as_manager()

    class Meta:
        ordering = ["-begun_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(start__regex=r"^#[0-9a-f]{6}$"), name="trial_start_is_hex"
            )
        ]

    def __str__(self) -> str:
        return self.paint

    def get_absolute_url(self) -> str:
        return address("trial", self.pk)


class TrialRound(models.Model):
    """One printed round: its settings, its patches, and what eye or photo answered."""

    # The unique pair below is index enough.
    trial = models.ForeignKey(
        Trial, on_delete=models.CASCADE, related_name="rounds", db_index=False
    )
    number = models.PositiveSmallIntegerField()
    printer = models.CharField(max_length=80)
    material = models.CharField(max_length=5, choices=Material.choices, default=Material.PAPER)
    quality = models.CharField(max_length=80, blank=True)
    colour_settings = models.CharField(max_length=80, blank=True)
    centre = models.JSONField()
    radius = models.FloatField()
    colours = models.JSONField()
    picks = models.JSONField(default=list)
    off = models.JSONField(default=list)
    photo = models.JSONField(null=True)
    refused = models.ImageField(upload_to="trials", blank=True, max_length=120)
    expected = models.FloatField(null=True)
    made_at = models.DateTimeField()
    answered_at = models.DateTimeField(null=True)
    answered_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["trial", "number"], name="trial_rounds_are_numbered"),
            models.CheckConstraint(
                condition=Q(material__in=Material.values), name="trial_round_material_is_known"
            ),
            models.CheckConstraint(
                condition=Q(radius__gt=0, number__gte=1), name="trial_round_reaches_somewhere"
            ),
        ]

    def __str__(self) -> str:
        return f"round {self.number} of {self.trial}"

    @property
    def settings_words(self) -> str:
        """The print settings in one line."""
        said = [self.printer, self.get_material_display(), self.quality, self.colour_settings]
        return ", ".join(part for part in said if part)

    @property
    def is_answered(self) -> bool:
        return self.answered_at is not None


class Recipe(models.Model):
    """The colour a trial ended in: what to print, with which printer, for this paint."""

    trial = models.OneToOneField(Trial, on_delete=models.CASCADE, related_name="recipe")
    colour = models.CharField(max_length=7, validators=[HEX_COLOUR])
    printer = models.CharField(max_length=80)
    material = models.CharField(max_length=5, choices=Material.choices)
    expected = models.FloatField(help_text="expected difference, CIEDE2000")
    limit = models.FloatField(null=True, help_text="what stays because the printer ends there")
    kept_at = models.DateTimeField()
    by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-kept_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(material="film"), name="a_paper_match_is_never_final"
            ),
            models.CheckConstraint(
                condition=Q(colour__regex=r"^#[0-9a-f]{6}$"), name="recipe_colour_is_hex"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.trial.paint}: {self.colour}"
