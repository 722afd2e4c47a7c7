"""Artwork: one drawing with its print size."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from decaljobs.craft.units import INCH, LEAST_ART_MM, MOST_ART_MM, SHARP_DPI
from decaljobs.links import address
from decaljobs.models.finding import holds_words

if TYPE_CHECKING:
    from django.db.models.manager import Manager


class ArtworkQuerySet(models.QuerySet["Artwork"]):
    def found(self, words: str) -> ArtworkQuerySet:
        """Artwork whose name, or what was done to it, holds the words."""
        return self.filter(holds_words(words, "name", "change"))

    def used(self, asked: bool = True) -> ArtworkQuerySet:
        """Of artwork `with_counts`, what some decal uses, or what none does."""
        return self.filter(decal_count__gt=0) if asked else self.filter(decal_count=0)

    def coarse(self) -> ArtworkQuerySet:
        """Artwork with fewer than 300 pixels to the inch at its print size."""
        return self.filter(width_px__lt=models.F("width_mm") * SHARP_DPI / INCH)

    def with_counts(self) -> ArtworkQuerySet:
        """Each drawing with how many decals use it (one query)."""
        return self.annotate(decal_count=models.Count("decals")).order_by("name", "pk")


class Artwork(models.Model):
    """One drawing with its print size. Its picture is our own re-encoding, in sRGB."""

    name = models.CharField(max_length=120)
    picture = models.ImageField(upload_to="artwork", max_length=120)
    width_px = models.PositiveIntegerField(editable=False)
    height_px = models.PositiveIntegerField(editable=False)
    preview = models.ImageField(upload_to="previews", max_length=120)
    version = models.PositiveSmallIntegerField(default=1, editable=False)
    came_from = models.ForeignKey(
        "self",
        null=True,
        blank=True,
        editable=False,
        on_delete=models.SET_NULL,
        related_name="versions",
        help_text="the version this one was made from",
    )
    change = models.CharField(
        max_length=120, blank=True, editable=False, help_text="what was done to it"
    )
    width_mm = models.DecimalField(
        max_digits=7,
        decimal_places=2,
        validators=[MinValueValidator(LEAST_ART_MM), MaxValueValidator(MOST_ART_MM)],
    )
    made_at = models.DateTimeField()
    example = models.BooleanField(default=False, editable=False)

    objects: ClassVar[Manager[Artwork]] = ArtworkQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        verbose_name_plural = "artwork"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(width_mm__gte=LEAST_ART_MM, width_mm__lte=MOST_ART_MM),
                name="artwork_width_in_range",
            )
        ]

    def __str__(self) -> str:
        return f"{self.name}, version {self.version}" if self.version > 1 else self.name

    def get_absolute_url(self) -> str:
        return address("artwork", self.pk)

    @property
    def picture_address(self) -> str:
        return address("artwork-picture", self.pk)

    @property
    def height_mm(self) -> float:
        """Print height in mm, from the print width and the picture's proportions."""
        return float(self.width_mm) * self.height_px / self.width_px

    @property
    def dpi(self) -> float:
        """Pixels to the inch at print size."""
        return self.width_px / (float(self.width_mm) / INCH)

    @property
    def is_coarse(self) -> bool:
        """Whether it has fewer pixels to the inch than a sharp print wants, as `coarse` asks."""
        return self.dpi < SHARP_DPI

    @property
    def sharp_width_mm(self) -> float:
        """The widest print in mm at which the picture still has 300 dpi (common practice)."""
        return self.width_px / SHARP_DPI * INCH
