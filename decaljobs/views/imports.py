"""Files of readings: uploaded, looked at, read, agreed to."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from decaljobs.craft.readings_file import SEPARATORS, Layout, records
from decaljobs.craft.readings_guess import Text
from decaljobs.forms.imports import FileForm, LayoutForm
from decaljobs.models import ImportState, ReadingsImport, Room
from decaljobs.services.drying import imports
from decaljobs.services.drying.readings import ShownLine, first_lines, preview
from decaljobs.services.refused import Refused
from decaljobs.views.access import makers_only
from decaljobs.views.once import once
from decaljobs.views.pages import draw, say_refused


@makers_only
@require_POST
@once
def upload(request: HttpRequest, pk: int) -> HttpResponse:
    """Take in a file for a room."""
    room = get_object_or_404(Room, pk=pk)
    form = FileForm(request.POST, request.FILES)
    if not form.is_valid():
        for errors in form.errors.values():
            messages.error(request, " ".join(errors))
        return redirect(room)
    file = form.cleaned_data["file"]
    try:
        kept = imports.keep_upload(
            room=room, by=request.user, moment=timezone.now(), name=file.name, data=file.read()
        )
    except Refused as refusal:
        say_refused(request, refusal)
        return redirect(room)
    return redirect(kept)


@require_GET
def readings_import(request: HttpRequest, pk: int) -> HttpResponse:
    """How far an import is: to be looked at, being read, waiting for a word, saved."""
    found = imports.tend(_get_import(pk), timezone.now())
    if found.state == ImportState.UPLOADED and request.user.may_change:
        return _draw_preview(request, found, None)
    return draw(request, "import", {"import": found, "moment": timezone.now()})


@makers_only
@require_POST
def read(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the first lines anew, or read the whole file."""
    found = _get_import(pk)
    try:
        text = imports.text_of(found)
        form = LayoutForm(request.POST, cells=_widest(text, _separator(request, found)))
        if not form.is_valid():
            return _draw_preview(request, found, form, status=422)
    except Refused as refusal:
        say_refused(request, refusal)
        return redirect(found)
    if "show" in request.POST:
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
    request: HttpRequest, found: ReadingsImport, form: LayoutForm | None, *, status: int = 200
) -> HttpResponse:
    text = imports.text_of(found)
    layout, zone = imports.layout_of(found), found.layout["zone"]
    if form is not None and form.is_valid():
        layout, zone = form.layout, form.cleaned_data["zone"]
    lines = _lines(text, layout, zone)
    if form is None:
        initial = {**layout.to_dict(), "zone": zone}
        form = LayoutForm(initial=initial, cells=_widest(text, layout.separator))
    context = {"import": found, "form": form, "lines": lines, "note": text.note}
    return draw(request, "import_preview", context, status=status)


def _lines(text: Text, layout: Layout, zone: str) -> list[ShownLine]:
    return preview(text, layout, imports.zone_named(zone), timezone.now())


def _separator(request: HttpRequest, found: ReadingsImport) -> str:
    asked = request.POST.get("separator", "")
    return asked if asked in SEPARATORS else imports.layout_of(found).separator


def _widest(text: Text, separator: str) -> list[str]:
    """The cells of the line with the most columns among the first, to name the columns by."""
    cells = [row for _, row in records(first_lines(text), separator) if isinstance(row, list)]
    return max(cells, key=len, default=[])


def _get_import(pk: int) -> ReadingsImport:
    return get_object_or_404(ReadingsImport.objects.select_related("room", "by"), pk=pk)
