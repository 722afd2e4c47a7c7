"""How true to size a printer prints on a film, as measured from a printed cross."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from decaljobs.craft.stages import Film, Printer
from decaljobs.models.choices import choices_of, one_of
from decaljobs.models.people import Person

#: A home printer that is further off than this prints with scaling on (common practice).
LEAST_FACTOR, MOST_FACTOR = 0.9, 1.1


def _factor() -> models.FloatField:
    return models.FloatField(
        default=1.0, validators=[MinValueValidator(LEAST_FACTOR), MaxValueValidator(MOST_FACTOR)]
    )


class PrinterFit(models.Model):
    """What a drawing is multiplied by, across and along, so that it comes out true to size."""

    printer = models.CharField(max_length=6, choices=choices_of(Printer))
    film = models.CharField(max_length=5, choices=choices_of(Film))
    x_factor = _factor()
    y_factor = _factor()
    measured_at = models.DateTimeField()
    by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["printer", "film"]
        constraints = [
            models.UniqueConstraint(fields=["printer", "film"], name="printer_fits_a_film_once"),
            one_of("film", Film, "printer_fit_film_is_known"),
            one_of("printer", Printer, "printer_fit_printer_is_known"),
            models.CheckConstraint(
                condition=Q(
                    x_factor__gte=LEAST_FACTOR,
                    x_factor__lte=MOST_FACTOR,
                    y_factor__gte=LEAST_FACTOR,
                    y_factor__lte=MOST_FACTOR,
                ),
                name="printer_fit_factors_in_range",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_printer_display()} on {self.get_film_display()} film"
