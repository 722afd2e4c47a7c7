"""Wait rules: how long each kind of drying takes, and by which clock."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from decaljobs.craft.climate import Clock
from decaljobs.craft.drying import WaitTerms
from decaljobs.craft.waits import WaitKind
from decaljobs.models.choices import choices_of, one_of

LONGEST_HOURS = 2000


def _hours(least: float) -> models.FloatField:
    return models.FloatField(
        validators=[MinValueValidator(least), MaxValueValidator(LONGEST_HOURS)]
    )


class WaitRule(models.Model):
    """One wait between two steps, as a product label or common practice gives it."""

    kind = models.CharField(max_length=30, unique=True, choices=choices_of(WaitKind))
    clock = models.CharField(max_length=20, choices=choices_of(Clock))
    reference_hours = _hours(0.01)
    floor_hours = _hours(0)
    reference_temperature = models.FloatField(
        default=20, validators=[MinValueValidator(5), MaxValueValidator(40)]
    )
    reference_humidity = models.FloatField(
        default=50, validators=[MinValueValidator(5), MaxValueValidator(84)]
    )
    film_forming_minimum = models.FloatField(
        default=10, validators=[MinValueValidator(-10), MaxValueValidator(35)]
    )
    source = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            one_of("kind", WaitKind, "wait_kind_is_known"),
            one_of("clock", Clock, "wait_clock_is_known"),
            models.CheckConstraint(
                condition=models.Q(reference_hours__gt=0, floor_hours__gte=0),
                name="wait_hours_are_positive",
            ),
        ]

    def __str__(self) -> str:
        return WaitKind(self.kind).words

    @property
    def terms(self) -> WaitTerms:
        """The rule as the drying clock takes it."""
        return WaitTerms(
            reference_hours=self.reference_hours,
            floor_hours=self.floor_hours,
            clock=Clock(self.clock),
            reference_temperature=self.reference_temperature,
            reference_humidity=self.reference_humidity,
            film_forming_minimum=self.film_forming_minimum,
        )
