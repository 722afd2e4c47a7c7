"""The film of a sheet: printed at true size, cut, lost, and what can be made of its pieces."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from decaljobs.forms.film import CutOffForm, LostForm, PrintFileForm, RefeedForm
from decaljobs.forms.paper import PaperForm
from decaljobs.pdf.printfile import print_file_pdf
from decaljobs.pdf.sheetslip import sheet_slip_pdf
from decaljobs.services.film import lost_sheets, offcuts
from decaljobs.services.film.offcuts import Side
from decaljobs.services.film.printfile import PrintWishes, base_arts_for, pieces_of, print_sheet
from decaljobs.services.film.sheet_places import give_places
from decaljobs.services.film.sheet_slip import sheet_slip
from decaljobs.services.film.spares import decals_with_pieces, spares_of
from decaljobs.services.refused import Refused
from decaljobs.views.access import makers_only, owners_only
from decaljobs.views.once import once
from decaljobs.views.pages import draw, page_of, pdf_answer, say_refused
from decaljobs.views.sheet_page import draw_sheet, get_sheet
from decaljobs.views.site import outside_address


@require_GET
def print_file(request: HttpRequest, code: str) -> HttpResponse:
    """The sheet as a PDF of its own size, every piece at its place."""
    found = get_sheet(code)
    form = PrintFileForm(request.GET, base_arts=base_arts_for(found, pieces_of(found)))
    if not form.is_valid():
        return draw_sheet(request, found, status=422, print_form=form)
    try:
        gathered = print_sheet(
            sheet=found,
            wishes=PrintWishes(**form.wishes),
            address=outside_address(request, reverse("sheet", args=[found.code])),
            moment=timezone.now(),
        )
    except Refused as refusal:
        say_refused(request, refusal)
        return redirect(found)
    return pdf_answer(print_file_pdf(gathered), f"{found.code}.pdf")


@require_GET
def slip(request: HttpRequest, code: str) -> HttpResponse:
    """A slip of paper for the sheet, with the QR code of its page."""
    found, form = get_sheet(code), PaperForm(request.GET)
    gathered = sheet_slip(
        sheet=found,
        address=outside_address(request, reverse("sheet", args=[found.code])),
        moment=timezone.now(),
    )
    return pdf_answer(sheet_slip_pdf(gathered, paper=form.paper), f"slip-{found.code}.pdf")


@makers_only
@require_POST
def place(request: HttpRequest, code: str) -> HttpResponse:
    """Lay out the pieces that were put on a sheet by hand."""
    found = get_sheet(code)
    try:
        number = give_places(sheet=found)
    except Refused as refusal:
        say_refused(request, refusal)
    else:
        messages.success(request, f"{number} pieces have their places on sheet {found}.")
    return redirect(found)


@makers_only
@require_POST
@once
def cut_off(request: HttpRequest, code: str) -> HttpResponse:
    """Record that the rest was cut off; it becomes a sheet of its own."""
    found, form = get_sheet(code), CutOffForm(request.POST)
    if form.is_valid():
        wanted = form.cleaned_data
        try:
            offcut = offcuts.cut_off(
                sheet=found.pk,
                side=Side(wanted["side"]),
                at_mm=wanted["at_mm"],
                by=request.user,
                moment=timezone.now(),
                seen=wanted["seen"],
            )
        except Refused as refusal:
            form.add_error("at_mm", str(refusal))
        else:
            messages.success(
                request,
                f"The rest is offcut {offcut}: write that on it, and keep it flat and dark.",
            )
            return redirect(found)
    return draw_sheet(request, found, cut_form=form)


@makers_only
@require_POST
@once
def lost(request: HttpRequest, code: str) -> HttpResponse:
    """Record that the whole sheet is lost or ruined."""
    found, form = get_sheet(code), LostForm(request.POST)
    if form.is_valid():
        wanted = form.cleaned_data
        try:
            lost_sheets.lose_sheet(
                sheet=found.pk,
                by=request.user,
                moment=timezone.now(),
                reason=wanted["reason"],
                seen=wanted["seen"],
            )
        except Refused as refusal:
            form.add_error("reason", str(refusal))
        else:
            messages.success(request, f"Sheet {found} is logged as lost.")
            return redirect(found)
    return draw_sheet(request, found, lost_form=form)


@owners_only
@require_POST
def refeed(request: HttpRequest, code: str) -> HttpResponse:
    """Keep the owner's word that this laser film may go through the fuser again."""
    found, form = get_sheet(code), RefeedForm(request.POST)
    if form.is_valid():
        try:
            offcuts.allow_refeeding(
                sheet=found.pk, reason=form.cleaned_data["reason"], by=request.user
            )
        except Refused as refusal:
            form.add_error("reason", str(refusal))
        else:
            messages.success(request, f"Sheet {found} may be fed again.")
            return redirect(found)
    return draw_sheet(request, found, refeed_form=form)


@require_GET
def spares(request: HttpRequest) -> HttpResponse:
    """What can still be made from what lies here."""
    page = page_of(decals_with_pieces(), request.GET)
    return draw(request, "spares", {"page": page, "rows": spares_of(page)})
