"""The next sheet filling up: the queue, its copies, and the layout that makes the sheets."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from decaljobs.forms.next_sheet import CopiesForm, NextSheetForm, QueueForm, SeenForm
from decaljobs.models import Printer, QueuedDecal, Sheet
from decaljobs.services import queue as queues
from decaljobs.services.copies import Wanted, wanted_of
from decaljobs.services.layouts import AT_ONCE, LayoutWishes, Plan, plan_layout
from decaljobs.services.next_sheet import fingerprint, gap_costs, lay_down, still_fitting
from decaljobs.services.refused import Overtaken, Refused
from decaljobs.views.access import makers_only
from decaljobs.views.next_sheet_rows import drawn_sheets, queue_rows
from decaljobs.views.pages import back_to, draw, say_refused


@require_GET
def next_sheet(request: HttpRequest) -> HttpResponse:
    """The queue and its layout: the first one at once, a better one when asked again."""
    form = NextSheetForm.asked(request.GET, _usual_printer())
    at_once = "better" not in request.GET
    return _draw(request, form, at_once=at_once)


@makers_only
@require_POST
def lay_out(request: HttpRequest) -> HttpResponse:
    """Make the sheets and put the queue on them."""
    form, seen = NextSheetForm(request.POST), SeenForm(request.POST)
    if not form.is_valid() or not seen.is_valid():
        return _draw(request, form)
    rows, offcuts = _queue_and_offcuts()
    try:
        if seen.cleaned_data["seen"] not in ("", fingerprint(rows, offcuts)):
            raise Overtaken("The queue or the offcuts have changed since: this is how they are.")
        plan = plan_layout(
            wanted_of(rows, sureness=form.chance), LayoutWishes(**form.wishes), offcuts
        )
        sheets = lay_down(plan=plan, by=request.user, moment=timezone.now())
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return _draw(request, form)
    codes = ", ".join(sheet.code for sheet in sheets)
    messages.success(request, f"Laid out on {codes}: print each in one go, at 100 %.")
    return redirect(sheets[0])


@makers_only
@require_POST
def queue(request: HttpRequest) -> HttpResponse:
    """Put decals on the list for the next sheet."""
    form = QueueForm(request.POST)
    try:
        made = _queue(request, form)
    except Refused as refusal:
        say_refused(request, refusal)
    else:
        number = len(made)
        said = f"{number} decal{'' if number == 1 else 's'} queued for the next sheet."
        messages.success(request, said if number else "Queued for the next sheet already.")
    return redirect(back_to(request) or "sheet-next")


def _queue(request: HttpRequest, form: QueueForm) -> list[QueuedDecal]:
    if not form.is_valid():
        raise Refused("These are no decals of this workshop.")
    wanted = form.cleaned_data
    who = {"by": request.user, "moment": timezone.now()}
    if wanted["project"]:
        return queues.queue_project(project=wanted["project"], **who)
    if not wanted["decals"]:
        raise Refused("Choose at least one decal.")
    return queues.queue_decals(decals=wanted["decals"], **who)


@makers_only
@require_POST
def unqueue(request: HttpRequest) -> HttpResponse:
    """Take decals off the list for the next sheet."""
    form = QueueForm(request.POST)
    if form.is_valid():
        gone = queues.unqueue(decals=form.cleaned_data["decals"])
        messages.success(request, f"{gone} taken off the list for the next sheet.")
    return redirect(back_to(request) or "sheet-next")


@makers_only
@require_POST
def copies(request: HttpRequest, pk: int) -> HttpResponse:
    """Overrule how many copies of a queued decal are printed."""
    form = CopiesForm(request.POST, decal=pk)
    if form.is_valid():
        try:
            queues.set_copies(decal=pk, **form.cleaned_data)
        except Refused as refusal:
            say_refused(request, refusal)
        return redirect(back_to(request) or "sheet-next")
    start = NextSheetForm.asked({}, _usual_printer())
    return _draw(request, start, copies_form=(pk, form), status=422)


def _draw(
    request: HttpRequest,
    form: NextSheetForm,
    *,
    at_once: bool = True,
    copies_form: tuple[int, CopiesForm] | None = None,
    status: int = 200,
) -> HttpResponse:
    rows, offcuts = _queue_and_offcuts()
    wanted: list[Wanted] = []
    plan: Plan | None = None
    if form.is_valid():
        wanted = wanted_of(rows, sureness=form.chance)
        plan = _plan(form, wanted, offcuts, at_once=at_once)
    elif not form.non_field_errors():
        wanted = wanted_of(rows)
    context: dict[str, Any] = {
        "form": form,
        "rows": queue_rows(wanted, copies_form),
        "plan": plan,
        "laid": drawn_sheets(plan) if plan else [],
        "at_once": at_once,
        "better": f"?{request.GET.urlencode()}&better=1" if request.GET else "?better=1",
        "seen": fingerprint(rows, offcuts),
        "offcuts": offcuts,
        "gaps": gap_costs(plan, offcuts) if plan and not at_once else [],
        "fitting": still_fitting(plan) if plan else [],
    }
    refused = form.is_bound and bool(form.errors)
    return draw(request, "next_sheet", context, status=422 if refused else status)


def _plan(
    form: NextSheetForm, wanted: list[Wanted], offcuts: list[Sheet], *, at_once: bool
) -> Plan | None:
    if not wanted:
        return None
    wishes = LayoutWishes(**form.wishes)
    if at_once:
        wishes = replace(wishes, seconds=AT_ONCE)
    try:
        return plan_layout(wanted, wishes, offcuts)
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return None


def _queue_and_offcuts() -> tuple[list[QueuedDecal], list[Sheet]]:
    return list(QueuedDecal.objects.for_sheet()), list(Sheet.objects.clean_offcuts())


def _usual_printer() -> str:
    last = Sheet.objects.order_by("-pk").values_list("printer", flat=True).first()
    return last or Printer.INKJET.value
