"""How true to size each printer prints on each film."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from decaljobs.craft.paper.printfile import factor_from
from decaljobs.craft.stages import Film, Printer
from decaljobs.models import Person, PrinterFit, Sheet
from decaljobs.services.refused import Refused


@transaction.atomic
def keep_fit(
    *,
    printer: str,
    film: str,
    across_mm: float,
    along_mm: float,
    by: Person,
    moment: datetime,
) -> PrinterFit:
    """Keep what the arms of a printed cross of 100 mm measure. Raises Refused outside the range."""
    try:
        factors = {"x_factor": factor_from(across_mm), "y_factor": factor_from(along_mm)}
    except ValueError as error:
        raise Refused(str(error)) from error
    fit, _ = PrinterFit.objects.update_or_create(
        printer=printer, film=film, defaults={**factors, "measured_at": moment, "by": by}
    )
    return fit


def factors_for(sheet: Sheet) -> tuple[float, float]:
    """What a drawing for this sheet is multiplied by, across and along; 1 when not measured."""
    fit = PrinterFit.objects.filter(printer=sheet.printer, film=sheet.film).first()
    return (fit.x_factor, fit.y_factor) if fit else (1.0, 1.0)


def all_fits() -> list[PrinterFit]:
    """Every printer on every film, those not measured with factors of 1 (one query)."""
    known = {(fit.printer, fit.film): fit for fit in PrinterFit.objects.select_related("by")}
    return [
        known.get((printer, film.value)) or PrinterFit(printer=printer.value, film=film.value)
        for printer in Printer
        for film in Film
    ]
