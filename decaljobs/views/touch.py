"""The finger's word on a wait: not dry yet on a decal, dry or not yet on a sheet."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from decaljobs.forms.touch import SheetTouchForm, TouchForm
from decaljobs.models import Decal
from decaljobs.services.bench import touch
from decaljobs.services.refused import Refused
from decaljobs.services.words import say_moment
from decaljobs.views.access import makers_only
from decaljobs.views.decal_page import draw_decal
from decaljobs.views.once import once
from decaljobs.views.sheet_page import draw_sheet, get_sheet


@makers_only
@require_POST
@once
def not_yet(request: HttpRequest, pk: int) -> HttpResponse:
    """Log that what dries on a decal is not dry to the touch."""
    found = get_object_or_404(Decal, pk=pk)
    form = TouchForm(request.POST)
    if form.is_valid():
        wanted, moment = form.cleaned_data, timezone.now()
        try:
            touch.log_not_yet(
                decal=pk, by=request.user, moment=moment, at=wanted["at"], seen=wanted["seen"]
            )
        except Refused as refusal:
            form.add_error("at", str(refusal))
        else:
            found.refresh_from_db()
            again = _ready_words(found, moment)
            messages.success(request, f"{found.words}: not dry yet. {again}")
            return redirect(found)
    return draw_decal(request, pk, touch_form=form)


@makers_only
@require_POST
@once
def sheet_touch(request: HttpRequest, code: str) -> HttpResponse:
    """Log that a sheet is dry to the touch, or not yet."""
    found, form = get_sheet(code), SheetTouchForm(request.POST)
    if form.is_valid():
        wanted = form.cleaned_data
        try:
            event = touch.log_sheet_touch(
                sheet=found.pk,
                dry=wanted["finger"] == "dry",
                by=request.user,
                moment=timezone.now(),
                at=wanted["at"],
                seen=wanted["seen"],
            )
        except Refused as refusal:
            form.add_error("at", str(refusal))
        else:
            messages.success(request, f"Sheet {found}: {event.words.lower()}.")
            return redirect(found)
    return draw_sheet(request, found, touch_form=form)


def _ready_words(decal: Decal, moment: datetime) -> str:
    if decal.ready_at is None:
        return ""
    return f"Look again {say_moment(decal.ready_at, now=moment)}."
