"""Carrying what dries to another room."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from decaljobs.forms.rooms import MoveDecalForm, MoveForm
from decaljobs.models import Decal, Room, Sheet
from decaljobs.services.bench import moving
from decaljobs.services.refused import Refused
from decaljobs.views.access import makers_only
from decaljobs.views.decal_page import decal_context
from decaljobs.views.decals import get_decal
from decaljobs.views.once import once
from decaljobs.views.pages import draw
from decaljobs.views.sheet_page import draw_sheet


@makers_only
@require_POST
@once
def move_decal(request: HttpRequest, pk: int) -> HttpResponse:
    """Carry a decal, or its whole model, to another room."""
    found = get_object_or_404(Decal, pk=pk)
    form = MoveDecalForm(request.POST, rooms=Room.objects.all())
    if not form.is_valid():
        return _draw_decal(request, pk, form)
    wanted = form.cleaned_data
    decals = [found.pk]
    if wanted["whole"]:
        decals = list(Decal.objects.on_model_of(found.project_id).values_list("pk", flat=True))
    try:
        events = moving.move_decals(
            decals=decals or [found.pk],
            room=wanted["room"],
            by=request.user,
            moment=timezone.now(),
            at=wanted["at"],
        )
    except Refused as refusal:
        form.add_error("at" if wanted["at"] else "room", str(refusal))
        return _draw_decal(request, pk, form)
    else:
        what = found.words if len(events) == 1 else f"{len(events)} decals"
        messages.success(request, f"Moved to ‘{wanted['room']}’: {what}.")
    return redirect(found)


@makers_only
@require_POST
@once
def move_sheet(request: HttpRequest, code: str) -> HttpResponse:
    """Carry a sheet to another room."""
    found = get_object_or_404(Sheet, code__iexact=code)
    form = MoveForm(request.POST, rooms=Room.objects.all())
    if not form.is_valid():
        return draw_sheet(request, found, move_form=form)
    wanted = form.cleaned_data
    try:
        moving.move_sheet(
            sheet=found.pk,
            room=wanted["room"],
            by=request.user,
            moment=timezone.now(),
            at=wanted["at"],
        )
    except Refused as refusal:
        form.add_error("at" if wanted["at"] else "room", str(refusal))
        return draw_sheet(request, found, move_form=form)
    else:
        messages.success(request, f"Sheet {found} is moved to ‘{wanted['room']}’.")
    return redirect(found)


def _draw_decal(request: HttpRequest, pk: int, form: MoveDecalForm) -> HttpResponse:
    """The decal's page with what is wrong beside the fields."""
    context = decal_context(request, get_decal(pk), move_form=form)
    return draw(request, "decal", context, status=422)
