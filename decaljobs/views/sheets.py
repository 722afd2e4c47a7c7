"""Sheets of film: what lies on them, printing, sealing coat by coat."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from decaljobs.craft.stages import Film
from decaljobs.forms.lists import SheetsForm
from decaljobs.forms.sheets import FillForm, ForDecalForm, SheetForm, SheetLogForm
from decaljobs.models import Sheet
from decaljobs.services.film import sheet_undoing, sheets
from decaljobs.services.layout.copies import reasons_for
from decaljobs.services.refused import Refused, TooEarly
from decaljobs.views.access import makers_only
from decaljobs.views.decals import get_decal
from decaljobs.views.just_logged import remember_sheet
from decaljobs.views.once import once
from decaljobs.views.pages import back_to, draw, page_of, say_refused
from decaljobs.views.sheet_page import draw_sheet, get_sheet


@require_GET
def sheet_list(request: HttpRequest) -> HttpResponse:
    """All sheets, newest first."""
    form = SheetsForm(request.GET)
    rows = form.rows(Sheet.objects.with_counts())
    context = {
        "form": form,
        "rows": page_of(rows, request.GET),
        "moment": timezone.now(),
    }
    return draw(request, "sheets", context)


@makers_only
@require_http_methods(["GET", "POST"])
@once
def sheet_new(request: HttpRequest) -> HttpResponse:
    """Take a new sheet of film."""
    wanted = ForDecalForm(request.GET).asked
    form = SheetForm(request.POST or None, initial={"film": wanted.get("film")})
    if request.method == "POST" and form.is_valid():
        made = sheets.make_sheet(by=request.user, moment=timezone.now(), **form.fields_for_sheet)
        messages.success(request, f"Sheet {made} is ready to be filled.")
        return redirect(_filling(made, wanted.get("decal", [])))
    return draw(request, "sheet_form", {"form": form})


@require_GET
def sheet(request: HttpRequest, code: str) -> HttpResponse:
    """One sheet: its next step, what lies on it, its log."""
    return draw_sheet(request, get_sheet(code))


@makers_only
@require_http_methods(["GET", "POST"])
@once
def fill(request: HttpRequest, code: str) -> HttpResponse:
    """Put decals on a sheet that is not printed yet."""
    found = get_sheet(code)
    layer, wanted = Film(found.film).layer, ForDecalForm(request.GET).asked
    form = FillForm(request.POST or None, sheet=found, initial={"decals": wanted.get("decal")})
    if request.method == "POST" and form.is_valid():
        wanted = form.cleaned_data
        reasons = reasons_for(wanted["decals"], layer)
        try:
            made = sheets.put_on_sheet(
                sheet=found.pk, decals=[d.pk for d in wanted["decals"]], copies=wanted["copies"]
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            why = [] if wanted["copies"] else reasons
            messages.success(request, " ".join([f"{len(made)} pieces put on sheet {found}.", *why]))
            return redirect(found)
    ticked = [decal for decal, is_ticked in form.choices_ticked if is_ticked]
    context = {
        "form": form,
        "sheet": found,
        "choices": form.choices_ticked,
        "reasons": reasons_for(ticked, layer),
    }
    return draw(request, "sheet_fill", context)


@makers_only
@require_GET
def for_decal(request: HttpRequest, pk: int) -> HttpResponse:
    """Lead to where a decal is put on a sheet: the newest not printed yet, or a new one."""
    decal = get_decal(pk)
    film = ForDecalForm(request.GET).asked.get("film", decal.film_wanted.value)
    found = Sheet.objects.filter(film=film, printed_at=None, lost_at=None).order_by("pk").last()
    if found is not None:
        return redirect(_filling(found, [decal.pk]))
    return redirect(reverse("sheet-new", query={"film": film, "decal": decal.pk}))


def _filling(sheet: Sheet, decals: list[int]) -> str:
    """Where decals are put on a sheet, with these ticked."""
    return reverse("sheet-fill", args=[sheet.code], query={"decal": decals})


@makers_only
@require_POST
@once
def printed(request: HttpRequest, code: str) -> HttpResponse:
    """Log that the sheet was printed."""
    return _log(request, code, sheets.log_printed, with_reason=False)


@makers_only
@require_POST
@once
def coat(request: HttpRequest, code: str) -> HttpResponse:
    """Log one sealing coat."""
    return _log(request, code, sheets.log_coat, with_reason=True)


@makers_only
@require_POST
@once
def undo(request: HttpRequest, code: str) -> HttpResponse:
    """Take back the last print or coat."""
    found = get_sheet(code)
    form = SheetLogForm(request.POST)
    seen = form.cleaned_data["seen"] if form.is_valid() else None
    try:
        event = sheet_undoing.undo_sheet(
            sheet=found.pk, by=request.user, moment=timezone.now(), seen=seen
        )
    except Refused as refusal:
        say_refused(request, refusal)
    else:
        messages.success(request, f"Sheet {found}: ‘{event.undoes.words}’ is undone.")
    return redirect(back_to(request) or found)


def _log(request: HttpRequest, code: str, service: Callable, *, with_reason: bool) -> HttpResponse:
    """Log on a sheet and say so, or show the sheet again with what is wrong beside the field."""
    found = get_sheet(code)
    form = SheetLogForm(request.POST)
    if form.is_valid():
        wanted = form.cleaned_data
        extra = {"reason": wanted["reason"]} if with_reason else {}
        try:
            event = service(
                sheet=found.pk,
                by=request.user,
                moment=timezone.now(),
                at=wanted["at"],
                seen=wanted["seen"],
                **extra,
            )
        except TooEarly as refusal:
            form.add_error("reason", str(refusal))
        except Refused as refusal:
            form.add_error("at" if wanted["at"] else None, str(refusal))
        else:
            remember_sheet(request, found, event)
            return redirect(back_to(request) or found)
    now = get_sheet(code)
    if now.is_sealed:  # somebody was quicker with the last coat, and the form is gone
        for said in form.errors.values():
            say_refused(request, said[0])
        return redirect(now)
    return draw_sheet(request, now, form=form)
