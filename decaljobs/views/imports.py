"""Files of readings: uploaded, looked at, read, agreed to."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from decaljobs.craft.room.readings_file import ReadingsLayout
from decaljobs.craft.textfile import Text
from decaljobs.forms.imports import FileForm, LayoutForm
from decaljobs.models import ImportState, ReadingsImport, Room
from decaljobs.services.drying import imports
from decaljobs.services.drying.readings import first_lines, preview
from decaljobs.services.refused import Refused
from decaljobs.views.access import makers_only
from decaljobs.views.once import once
from decaljobs.views.pages import draw, say_refused
from decaljobs.views.rooms import draw_room


@makers_only
@require_POST
@once
def upload(request: HttpRequest, pk: int) -> HttpResponse:
    """Take in a file for a room."""
    room = get_object_or_404(Room, pk=pk)
    form = FileForm(request.POST, request.FILES)
    if form.is_valid():
        file = form.cleaned_data["file"]
        try:
            kept = imports.keep_upload(
                room=room, by=request.user, moment=timezone.now(), name=file.name, data=file.read()
            )
        except Refused as refusal:
            form.add_error("file", str(refusal))
        else:
            return redirect(kept)
    return draw_room(request, room, file_form=form)


@require_GET
def readings_import(request: HttpRequest, pk: int) -> HttpResponse:
    """How far an import is: to be looked at, being read, waiting for a word, saved."""
    found = imports.tend(_get_import(pk), timezone.now())
    if found.state == ImportState.UPLOADED and request.user.may_change:
        return _draw_preview(request, found)
    return draw(request, "import", {"import": found, "moment": timezone.now()})


@makers_only
@require_POST
def read(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the first lines anew, or read the whole file."""
    found = _get_import(pk)
    try:
        text = imports.text_of(found)
        form = LayoutForm(request.POST, **_of_file(text, imports.layout_of(found)))
    except Refused as refusal:
        say_refused(request, refusal)
        return redirect(found)
    if not form.is_valid() or form.is_only_shown:
        return _draw_preview(request, found, form)
    return _work(
        request,
        found,
        imports.begin_reading,
        layout=form.layout,
        zone=form.cleaned_data["zone"],
    )


@makers_only
@require_POST
def save(request: HttpRequest, pk: int) -> HttpResponse:
    """Save the good lines, as the maker has agreed."""
    return _work(request, _get_import(pk), imports.begin_saving)


@makers_only
@require_POST
def drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Leave the file out."""
    found = _get_import(pk)
    try:
        imports.leave_out(pk=pk)
    except Refused as refusal:
        say_refused(request, refusal)
        return redirect(found)
    messages.success(request, f"‘{found}’ is left out; nothing of it was saved.")
    return redirect(found.room)


def _work(request: HttpRequest, found: ReadingsImport, begin: Any, **more: Any) -> HttpResponse:
    try:
        begin(pk=found.pk, moment=timezone.now(), **more)
    except Refused as refusal:
        say_refused(request, refusal)
    return redirect(found)


def _draw_preview(
    request: HttpRequest, found: ReadingsImport, form: LayoutForm | None = None
) -> HttpResponse:
    text = imports.text_of(found)
    layout, zone = imports.layout_of(found), found.layout["zone"]
    if form is not None and form.is_valid():
        layout, zone = form.layout, form.cleaned_data["zone"]
    if form is None:
        form = LayoutForm(initial={**layout.to_dict(), "zone": zone}, **_of_file(text, layout))
    lines = preview(text, layout, imports.zone_named(zone), timezone.now())
    context = {"import": found, "form": form, "lines": lines, "note": text.note}
    return draw(request, "import_preview", context)


def _of_file(text: Text, layout: ReadingsLayout) -> dict[str, Any]:
    """What the form of a file knows of it."""
    return {"lines": first_lines(text), "separator": layout.separator}


def _get_import(pk: int) -> ReadingsImport:
    return get_object_or_404(ReadingsImport.objects.select_related("room", "by"), pk=pk)
