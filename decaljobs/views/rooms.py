"""Rooms: what they are, their stated air, and the readings written down in them."""

from __future__ import annotations

from datetime import time

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from decaljobs.craft.figures import counted
from decaljobs.craft.room.day_of_air import DAY_FROM, NIGHT_FROM
from decaljobs.forms.imports import FileForm
from decaljobs.forms.rooms import ReadingForm, RoomForm
from decaljobs.models import Reading, Room
from decaljobs.services.drying import rooms
from decaljobs.services.drying.air import airs_of
from decaljobs.services.drying.air_words import air_words
from decaljobs.services.refused import Refused
from decaljobs.views.access import makers_only, owners_only
from decaljobs.views.pages import back_to, draw, page_of, say_refused


@require_GET
def room(request: HttpRequest, pk: int) -> HttpResponse:
    """One room: its readings, newest first."""
    return draw_room(request, _get_room(pk))


@makers_only
@require_http_methods(["GET", "POST"])
def room_new(request: HttpRequest) -> HttpResponse:
    """Add a room."""
    form = RoomForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            made = rooms.add_room(**form.cleaned_data)
        except Refused as refusal:
            form.add_error("name", str(refusal))
        else:
            messages.success(request, f"‘{made}’ is added.")
            return redirect(made)
    return draw(request, "room_form", {"form": form})


@makers_only
@require_http_methods(["GET", "POST"])
def room_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a room's name or its stated air."""
    found = _get_room(pk)
    form = RoomForm(request.POST or None, instance=found)
    if request.method == "POST" and form.is_valid():
        try:
            moved = rooms.change_room(room=form.instance, moment=timezone.now())
        except Refused as refusal:
            form.add_error("name", str(refusal))
        else:
            messages.success(request, f"‘{found}’ is changed.{_moved_words(moved)}")
            return redirect(found)
    return draw(request, "room_form", {"form": form, "room": _get_room(pk)})


@owners_only
@require_POST
def make_usual(request: HttpRequest, pk: int) -> HttpResponse:
    """Let layers dry in this room from now on."""
    found = _get_room(pk)
    rooms.make_usual(room=found.pk)
    messages.success(request, f"What is laid from now on dries in ‘{found}’ unless moved.")
    return redirect(found)


@makers_only
@require_POST
def reading_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down one reading."""
    found = _get_room(pk)
    form = ReadingForm(request.POST)
    if form.is_valid():
        wanted, moment = form.cleaned_data, timezone.now()
        try:
            kept = rooms.add_reading(
                room=found.pk,
                at=wanted["at"] or moment,
                temperature=wanted["temperature"],
                humidity=wanted["humidity"],
                moment=moment,
            )
        except Refused as refusal:
            form.add_error("at", str(refusal))
        else:
            messages.success(request, f"{found}: {kept.words} is kept.")
            return redirect(back_to(request) or found)
    return draw_room(request, found, form=form)


@makers_only
@require_POST
def reading_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Take out a reading that was a slip of the pen."""
    found = get_object_or_404(Reading.objects.select_related("room"), pk=pk)
    try:
        rooms.drop_reading(reading=pk)
    except Refused as refusal:
        say_refused(request, refusal)
    else:
        messages.success(request, f"{found.words} is taken out.")
    return redirect(found.room)


def draw_room(
    request: HttpRequest,
    found: Room,
    *,
    form: ReadingForm | None = None,
    file_form: FileForm | None = None,
) -> HttpResponse:
    """The page of a room; with a form that was refused, beside whose field it says why."""
    moment, airs = timezone.now(), airs_of(request)
    context = {
        "room": found,
        "day_begins": time(DAY_FROM),
        "night_begins": time(NIGHT_FROM),
        "air": air_words(airs.room(found.pk), airs, moment),
        "form": form or ReadingForm(),
        "file_form": file_form or FileForm(),
        "page": page_of(found.readings.order_by("-minute"), request.GET),
        "imports": found.imports.open().select_related("by"),
        "moment": moment,
    }
    return draw(request, "room", context)


def _moved_words(moved: int) -> str:
    if not moved:
        return ""
    return f" {counted(moved, 'running wait was', 'running waits were')} worked out anew."


def _get_room(pk: int) -> Room:
    return get_object_or_404(Room, pk=pk)
