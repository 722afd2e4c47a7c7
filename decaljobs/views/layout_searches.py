"""Looking for a better layout, and squeezing by outline, behind the page of the next sheet."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django_htmx.http import reswap, retarget

from decaljobs.forms.next_sheet import NextSheetForm, SearchKindForm, SeenQueueForm
from decaljobs.models import Sheet
from decaljobs.services.layout import layout_searches
from decaljobs.services.layout.layouts import LayoutWishes
from decaljobs.services.refused import Refused
from decaljobs.services.squeeze import laid_sheets
from decaljobs.views.access import makers_only
from decaljobs.views.next_sheet import draw_next_sheet
from decaljobs.views.pages import back_to, draw, say_refused
from decaljobs.views.sheet_page import draw_sheet, get_sheet


@makers_only
@require_POST
def search(request: HttpRequest) -> HttpResponse:
    """Begin to look for a better layout, or to squeeze the one there is."""
    form, wanted = NextSheetForm(request.POST), SearchKindForm(request.POST)
    if form.is_valid() and not wanted.is_valid():
        form.add_error(None, "Press the button of what is to be looked for.")
    if not form.is_valid():
        return draw_next_sheet(request, form)
    try:
        layout_searches.begin(
            kind=wanted.cleaned_data["kind"],
            asked=layout_searches.question(LayoutWishes(**form.wishes), form.chance),
            by=request.user,
            moment=timezone.now(),
        )
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return draw_next_sheet(request, form)
    if request.htmx:
        return draw_next_sheet(request, form, fragment="_laid")
    return _back(form)


@require_GET
def watch(request: HttpRequest) -> HttpResponse:
    """How far a search is; once it is over, what it found takes the place of the old layout.

    Without scripts this is the page itself.
    """
    form = NextSheetForm.asked(request.GET, Sheet.objects.usual_printer())
    if not request.htmx or not form.is_valid():
        return draw_next_sheet(request, form)
    asked = layout_searches.question(LayoutWishes(**form.wishes), form.chance)
    found = layout_searches.searches_of(asked, timezone.now()).values()
    if any(one.is_running for one in found):
        return draw_next_sheet(request, form, fragment="_progress")
    laid = draw_next_sheet(request, form, fragment="_laid")
    return reswap(retarget(laid, "#laid-out"), "outerHTML")


@makers_only
@require_POST
def stop(request: HttpRequest) -> HttpResponse:
    """Ask a search to end with the best it has."""
    form, seen = NextSheetForm(request.POST), SeenQueueForm(request.POST)
    if seen.is_valid() and layout_searches.stop(pk=seen.cleaned_data["search"] or 0):
        messages.success(request, "The search ends with the best layout it has.")
    return redirect(back_to(request)) if back_to(request) else _back(form)


@makers_only
@require_POST
def drop(request: HttpRequest) -> HttpResponse:
    """Go back from the squeezed layout to the one in boxes."""
    form, seen = NextSheetForm(request.POST), SeenQueueForm(request.POST)
    if seen.is_valid() and layout_searches.drop(pk=seen.cleaned_data["search"] or 0):
        messages.success(request, "The layout in boxes counts again.")
    return _back(form)


@makers_only
@require_http_methods(["GET", "POST"])
def squeeze_sheet(request: HttpRequest, code: str) -> HttpResponse:
    """Squeeze a sheet that is not printed yet; how far that is, and the sheet once it is over."""
    found = get_sheet(code)
    if request.method == "POST":
        try:
            laid_sheets.begin(sheet=found, by=request.user, moment=timezone.now())
        except Refused as refusal:
            say_refused(request, refusal)
        return redirect(found)
    running = laid_sheets.search_of(found, timezone.now())
    if request.htmx and running is not None and running.is_running:
        return draw(request, "sheet", {"sheet": found, "squeeze": running}, fragment="_squeezing")
    return reswap(retarget(draw_sheet(request, found), "#sheet"), "innerHTML")


def _back(form: NextSheetForm) -> HttpResponse:
    """To the page with the same wishes; where they make no sense, with the usual ones."""
    wishes = f"?{form.address}" if form.is_valid() else ""
    return redirect(reverse("sheet-next") + wishes)
