"""Carrying what dries to another room."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from decaljobs.forms.rooms import MoveDecalForm, MoveForm
from decaljobs.models import Decal, Room
from decaljobs.services.bench import moving
from decaljobs.services.refused import Refused
from decaljobs.views.access import makers_only
from decaljobs.views.decal_page import draw_decal
from decaljobs.views.once import once
from decaljobs.views.sheet_page import draw_sheet, get_sheet


@makers_only
@require_POST
@once
def move_decal(request: HttpRequest, pk: int) -> HttpResponse:
    """Carry a decal, or its whole model, to another room."""
    found = get_object_or_404(Decal, pk=pk)
    form = MoveDecalForm(request.POST, rooms=Room.objects.all())
    if form.is_valid():
        wanted = form.cleaned_data
        try:
            events = moving.move_decals(
                decals=_decals(found, whole=wanted["whole"]),
                room=wanted["room"],
                by=request.user,
                moment=timezone.now(),
                at=wanted["at"],
            )
        except Refused as refusal:
            form.add_error("at" if wanted["at"] else "room", str(refusal))
        else:
            what = found.words if len(events) == 1 else f"{len(events)} decals"
            messages.success(request, f"Moved to ‘{wanted['room']}’: {what}.")
            return redirect(found)
    return draw_decal(request, pk, move_form=form)


@makers_only
@require_POST
@once
def move_sheet(request: HttpRequest, code: str) -> HttpResponse:
    """Carry a sheet to another room."""
    found, form = get_sheet(code), MoveForm(request.POST, rooms=Room.objects.all())
    if form.is_valid():
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
        else:
            messages.success(request, f"Sheet {found} is moved to ‘{wanted['room']}’.")
            return redirect(found)
    return draw_sheet(request, found, move_form=form)


def _decals(found: Decal, *, whole: bool) -> list[int]:
    """The decal alone, or every one that lies on its model."""
    if not whole:
        return [found.pk]
    return list(Decal.objects.on_model_of(found.project_id).values_list("pk", flat=True)) or [
        found.pk
    ]
