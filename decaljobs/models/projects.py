"""Projects: one model being lettered each."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models

from decaljobs.links import address
from decaljobs.models.finding import holds_words

if TYPE_CHECKING:
    from django.db.models.manager import Manager

HEX_COLOUR = RegexValidator(r"^#[0-9a-f]{6}\Z", "Write a colour as #rrggbb.")
PROJECT_CODE = RegexValidator(
    r"^[A-Z0-9][A-Z0-9-]{0,11}\Z", "Use up to 12 capital letters, digits and hyphens."
)
SMALLEST_RATIO, LARGEST_RATIO = 1, 2000
#: How much a late day of a project counts in the plan.
LEAST_WEIGHT, MOST_WEIGHT = 1, 5


class Finish(models.TextChoices):
    GLOSS = "gloss", "gloss"
    SATIN = "satin", "satin"
    MATT = "matt", "matt"


class ProjectQuerySet(models.QuerySet["Project"]):
    def coded(self, code: str) -> ProjectQuerySet:
        """The project with this code, however it is typed: codes are kept in capitals."""
        return self.filter(code=code.upper())

    def found(self, words: str) -> ProjectQuerySet:
        """Projects whose code, name, customer or notes hold the words."""
        return self.filter(holds_words(words, "code", "name", "customer", "notes"))

    def at_work(self) -> ProjectQuerySet:
        """Projects that are neither put away nor thrown away."""
        return self.filter(archived_at=None, binned_at=None)

    def archived(self) -> ProjectQuerySet:
        """Projects put away, to be read and brought back."""
        return self.filter(archived_at__isnull=False, binned_at=None)

    def kept(self) -> ProjectQuerySet:
        """Projects that are not in the bin."""
        return self.filter(binned_at=None)

    def binned(self) -> ProjectQuerySet:
        """Projects in the bin; those it was emptied of are not in it any more."""
        return self.filter(binned_at__isnull=False, emptied_at=None)

    def with_counts(self, moment: datetime) -> ProjectQuerySet:
        """Each project with its decals counted (all, ready, finished) and a drawing to know it by
        (one query)."""
        free = models.Q(decals__held_because="", decals__ready_at__lte=moment)
        no_step = models.Q(decals__next_step="")
        return self.annotate(
            first_artwork=models.Min("decals__artwork"),
            decal_count=models.Count("decals"),
            ready_count=models.Count("decals", filter=free & ~no_step),
            finished_count=models.Count("decals", filter=free & no_step),
        ).order_by("-made_at", "-pk")

    def standing(self, how: str) -> ProjectQuerySet:
        """Of projects `with_counts`: with a decal 'ready', 'finished' to the last one, still
        'unfinished', or 'without' any decal."""
        some, done = models.Q(decal_count__gt=0), models.Q(finished_count=models.F("decal_count"))
        return self.filter(
            {
                "ready": models.Q(ready_count__gt=0),
                "finished": some & done,
                "unfinished": some & ~done,
                "without": ~some,
            }[how]
        )


class Project(models.Model):
    """One model being lettered.

    archived_at: put away, to be read and brought back. binned_at: thrown away, until the
    owner empties the bin. emptied_at: emptied from it; what is left are the log and the
    pieces, which the sheets' accounts and the rates of success rest on.
    """

    code = models.CharField(max_length=12, unique=True, validators=[PROJECT_CODE])
    name = models.CharField(max_length=120)
    scale_ratio = models.DecimalField(
        max_digits=8,
        decimal_places=4,
        validators=[MinValueValidator(SMALLEST_RATIO), MaxValueValidator(LARGEST_RATIO)],
        help_text="the 87 of 1:87",
    )
    body_colour = models.CharField(max_length=7, validators=[HEX_COLOUR], default="#2b3a33")
    finish = models.CharField(max_length=5, choices=Finish.choices, default=Finish.GLOSS)
    due = models.DateField(null=True, blank=True)
    weight = models.PositiveSmallIntegerField(
        default=LEAST_WEIGHT,
        validators=[MinValueValidator(LEAST_WEIGHT), MaxValueValidator(MOST_WEIGHT)],
    )
    customer = models.CharField(max_length=120, blank=True)
    notes = models.TextField(max_length=4000, blank=True)
    overcoat = models.BooleanField(default=True)
    made_at = models.DateTimeField()
    example = models.BooleanField(default=False, editable=False)
    archived_at = models.DateTimeField(null=True, editable=False)
    binned_at = models.DateTimeField(null=True, editable=False)
    emptied_at = models.DateTimeField(null=True, editable=False)

    objects: ClassVar[Manager[Project]] = ProjectQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(code__regex=r"^[A-Z0-9][A-Z0-9-]*$"),
                name="project_code_in_capitals",
            ),
            models.CheckConstraint(
                condition=models.Q(scale_ratio__gte=SMALLEST_RATIO, scale_ratio__lte=LARGEST_RATIO),
                name="project_scale_in_range",
            ),
            models.CheckConstraint(
                condition=models.Q(body_colour__regex=r"^#[0-9a-f]{6}$"),
                name="project_body_colour_is_hex",
            ),
            models.CheckConstraint(
                condition=models.Q(finish__in=Finish.values), name="project_finish_is_known"
            ),
            models.CheckConstraint(
                condition=models.Q(emptied_at=None) | models.Q(binned_at__isnull=False),
                name="project_emptied_from_the_bin",
            ),
            models.CheckConstraint(
                condition=models.Q(weight__range=(LEAST_WEIGHT, MOST_WEIGHT)),
                name="project_weight_in_range",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    def get_absolute_url(self) -> str:
        return address("project", self.code)

    @property
    def is_at_work(self) -> bool:
        return self.archived_at is None and self.binned_at is None
