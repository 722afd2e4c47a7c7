"""The next sheet filling up: the queue, its copies, and the layout that makes the sheets."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from decaljobs.craft.figures import counted
from decaljobs.craft.film.copies import SURENESS
from decaljobs.craft.stages import Printer
from decaljobs.forms.next_sheet import CopiesForm, NextSheetForm, QueueForm, SeenQueueForm
from decaljobs.models import QueuedDecal, Sheet
from decaljobs.services.layout import queue as queues
from decaljobs.services.layout.layout_searches import (
    Question,
    best_of,
    plan_seen,
    question,
    searches_of,
)
from decaljobs.services.layout.layouts import LayoutWishes
from decaljobs.services.layout.next_sheet import lay_down, still_fitting, without_pieces
from decaljobs.services.refused import Overtaken, Refused
from decaljobs.views.access import makers_only
from decaljobs.views.next_sheet_rows import drawn_sheets, queue_rows
from decaljobs.views.pages import back_to, draw, say_refused

#: Stands where the wishes make no sense, so that the queue is shown all the same.
NO_WISHES = LayoutWishes(Printer.INKJET, 210, 297, 7)


@require_GET
def next_sheet(request: HttpRequest) -> HttpResponse:
    """The queue and its layout: the first one at once, the best that was found since."""
    form = NextSheetForm.asked(request.GET, Sheet.objects.usual_printer())
    if form.is_typed and form.is_valid():
        return redirect(f"{reverse('sheet-next')}?{form.address}")
    return draw_next_sheet(request, form)


@makers_only
@require_POST
def lay_out(request: HttpRequest) -> HttpResponse:
    """Make the sheets and put the queue on them, as the page showed it."""
    form, seen = NextSheetForm(request.POST), SeenQueueForm(request.POST)
    if not form.is_valid() or not seen.is_valid():
        if form.is_valid():
            form.add_error(None, "This layout is not known here: look at the one below.")
        return draw_next_sheet(request, form)
    moment = timezone.now()
    try:
        asked = question(LayoutWishes(**form.wishes), form.chance)
        if seen.cleaned_data["seen"] not in ("", asked.fingerprint):
            raise Overtaken("The queue or the offcuts have changed since: this is how they are.")
        plan = plan_seen(seen.cleaned_data["search"], asked)
        sheets = lay_down(plan=plan, by=request.user, moment=moment)
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return draw_next_sheet(request, form)
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
        said = f"{counted(number, 'decal')} queued for the next sheet."
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
    start = NextSheetForm.asked({}, Sheet.objects.usual_printer())
    return draw_next_sheet(request, start, copies_form=(pk, form), status=422)


def draw_next_sheet(
    request: HttpRequest,
    form: NextSheetForm,
    *,
    fragment: str = "_fragment",
    copies_form: tuple[int, CopiesForm] | None = None,
    status: int = 200,
) -> HttpResponse:
    """The page of the next sheet; with a form that was refused it says why."""
    asked = _question(form)
    context: dict[str, Any] = {
        "form": form,
        "rows": queue_rows(asked.wanted, copies_form),
        "seen": asked.fingerprint,
        "offcuts": asked.offcuts,
        **(_layout(form, asked) if form.makes_sense else {}),
    }
    refused = form.is_bound and bool(form.errors)
    return draw(
        request, "next_sheet", context, fragment=fragment, status=422 if refused else status
    )


def _question(form: NextSheetForm) -> Question:
    """What is queued, also where the wishes make no sense."""
    if form.makes_sense:
        return question(LayoutWishes(**form.wishes), form.chance)
    return question(NO_WISHES, SURENESS)


def _layout(form: NextSheetForm, asked: Question) -> dict[str, Any]:
    """The layout that is shown, and what is being looked for behind the page."""
    if not asked.wanted:
        return {"fitting": without_pieces()}
    found = searches_of(asked, timezone.now())
    better, squeeze = found.get("better"), found.get("squeeze")
    running = next((search for search in found.values() if search.is_running), None)
    try:
        shown, plan = best_of((squeeze, better), asked)
    except Refused as refusal:
        if not form.non_field_errors():
            form.add_error(None, str(refusal))
        return {}
    kept = squeeze.found if squeeze and squeeze.found else {}
    return {
        "plan": plan,
        "shown": shown,
        "laid": drawn_sheets(plan),
        "fitting": still_fitting(plan),
        "better": better,
        "squeeze": squeeze,
        "running": running,
        "here": form.address,
        "gaps": (better.found or {}).get("gaps", []) if better else [],
        "saved_share": kept.get("saved_mm2", 0) / kept.get("before_mm2", 1),
    }
