"""How true to size the printers print: a cross to print, and what it measured."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from decaljobs.craft.units import paper
from decaljobs.forms.film import PrinterFilmForm, PrinterFitForm
from decaljobs.pdf.printfile import cross_pdf
from decaljobs.services.film.printer_fits import all_fits, keep_fit
from decaljobs.services.refused import Refused
from decaljobs.services.words import say_date
from decaljobs.shown import for_everybody
from decaljobs.views.access import refuse_onlookers
from decaljobs.views.pages import draw, pdf_answer


@require_http_methods(["GET", "POST"])
def printers(request: HttpRequest) -> HttpResponse:
    """Every printer on every film, and a form for what a printed cross measured."""
    if request.method == "POST":
        refuse_onlookers(request)
    form = PrinterFitForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            fit = keep_fit(by=request.user, moment=timezone.now(), **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{fit}: print files are corrected from now on.")
            return redirect("printers")
    context = {"form": form, "fits": all_fits(), "moment": timezone.now()}
    return draw(request, "printers", context)


@require_GET
@for_everybody()
def cross(request: HttpRequest) -> HttpResponse:
    """A cross of 100 mm to be printed on a film and measured."""
    form = PrinterFilmForm(request.GET)
    if not form.is_valid():
        return redirect("printers")
    wanted = form.cleaned_data
    pdf = cross_pdf(
        paper(form.paper),
        code=f"{wanted['printer'].capitalize()} on {wanted['film']} film",
        said=say_date(timezone.localdate()),
    )
    return pdf_answer(pdf, f"cross-{wanted['printer']}-{wanted['film']}.pdf")
