"""Wait rules: how long each kind of drying takes, and by which clock."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from decaljobs.craft.climate import Clock
from decaljobs.craft.drying import WaitTerms
from decaljobs.craft.waits import WaitKind
from decaljobs.models.choices import choices_of, one_of, within

SHORTEST_HOURS, LONGEST_HOURS = 0.01, 2000
COLDEST_REFERENCE, WARMEST_REFERENCE = 5, 40  # °C
DRIEST_REFERENCE, WETTEST_REFERENCE = 5, 84  # %RH
LEAST_MINIMUM, MOST_MINIMUM = -10, 35  # °C


def _from_to(least: float, most: float, **more: float) -> models.FloatField:
    return models.FloatField(validators=[MinValueValidator(least), MaxValueValidator(most)], **more)


class WaitRule(models.Model):
    """One wait between two steps, as a product label or common practice gives it."""

    kind = models.CharField(max_length=30, unique=True, choices=choices_of(WaitKind))
    clock = models.CharField(max_length=20, choices=choices_of(Clock))
    reference_hours = _from_to(SHORTEST_HOURS, LONGEST_HOURS)
    floor_hours = _from_to(0, LONGEST_HOURS)
    reference_temperature = _from_to(COLDEST_REFERENCE, WARMEST_REFERENCE, default=20)
    reference_humidity = _from_to(DRIEST_REFERENCE, WETTEST_REFERENCE, default=50)
    film_forming_minimum = _from_to(LEAST_MINIMUM, MOST_MINIMUM, default=10)
    source = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            one_of("kind", WaitKind, "wait_kind_is_known"),
            one_of("clock", Clock, "wait_clock_is_known"),
            within(
                "wait_figures_in_range",
                reference_hours=(SHORTEST_HOURS, LONGEST_HOURS),
                floor_hours=(0, LONGEST_HOURS),
                reference_temperature=(COLDEST_REFERENCE, WARMEST_REFERENCE),
                reference_humidity=(DRIEST_REFERENCE, WETTEST_REFERENCE),
                film_forming_minimum=(LEAST_MINIMUM, MOST_MINIMUM),
            ),
            models.CheckConstraint(
                condition=models.Q(floor_hours__lte=models.F("reference_hours")),
                name="wait_floor_within_its_hours",
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
