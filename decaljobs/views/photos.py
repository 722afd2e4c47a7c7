"""Photos of projects and decals: taken in, looked at, removed and put back."""

from __future__ import annotations

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from decaljobs.craft.figures import counted
from decaljobs.craft.stages import Stage
from decaljobs.forms.photos import PhotosForm, WordsForm
from decaljobs.models import Decal, Photo, Project
from decaljobs.services.projects import photos
from decaljobs.services.refused import Refused
from decaljobs.views.access import makers_only, owners_only, refuse_onlookers
from decaljobs.views.once import once
from decaljobs.views.pages import draw, say_refused
from decaljobs.views.photo_page import address_of, new_form, page_context, stages_of


@require_http_methods(["GET", "POST"])
@once
def project_photos(request: HttpRequest, code: str) -> HttpResponse:
    """All photos of a project and its decals; more are sent here."""
    return _photos(request, get_object_or_404(Project.objects.coded(code)))


@require_http_methods(["GET", "POST"])
@once
def decal_photos(request: HttpRequest, pk: int) -> HttpResponse:
    """All photos of one decal; more are sent here."""
    return _photos(request, get_object_or_404(Decal.objects.select_related("project"), pk=pk))


@require_http_methods(["GET", "POST"])
def photo(request: HttpRequest, pk: int) -> HttpResponse:
    """One photo, large; what is said of it can be changed here."""
    found = _get_photo(pk)
    stages = stages_of(found.decal or found.project, Stage(found.stage) if found.stage else None)
    start = {"stage": found.stage, "caption": found.caption}
    form = WordsForm(request.POST or None, initial=start, stages=stages)
    if request.method == "POST":
        refuse_onlookers(request)
        if form.is_valid():
            photos.change_photo(photo=pk, **form.cleaned_data)
            messages.success(request, "The words to this photo are changed.")
            return redirect(found)
    return draw(request, "photo", {"photo": found, "form": form, **_beside(found)})


@makers_only
@require_POST
def remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a photo off all pages; its own page says how to put it back."""
    found = _get_photo(pk)
    try:
        photos.remove_photo(photo=pk, moment=timezone.now())
    except Refused as refusal:
        say_refused(request, refusal)
    return redirect(found)


@makers_only
@require_POST
def put_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a removed photo again."""
    found = _get_photo(pk)
    try:
        photos.put_back(photo=pk)
    except Refused as refusal:
        say_refused(request, refusal)
    else:
        messages.success(request, "The photo is back.")
    return redirect(found)


@owners_only
@require_POST
def drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Delete a removed photo for good."""
    found = _get_photo(pk)
    try:
        photos.drop_photo(photo=pk)
    except Refused as refusal:
        say_refused(request, refusal)
        return redirect(found)
    messages.success(request, "The photo is deleted for good.")
    return redirect(address_of(found.decal or found.project))


@require_GET
@cache_control(private=True, max_age=86400)
def picture(request: HttpRequest, pk: int) -> FileResponse:
    """The photo itself, as we re-encoded it."""
    return FileResponse(get_object_or_404(Photo, pk=pk).picture.open("rb"))


@require_GET
@cache_control(private=True, max_age=86400)
def small(request: HttpRequest, pk: int) -> FileResponse:
    """A small version of the photo for lists."""
    return FileResponse(get_object_or_404(Photo, pk=pk).small.open("rb"))


def _photos(request: HttpRequest, thing: Project | Decal) -> HttpResponse:
    stage = thing.stage_now(timezone.now()) if isinstance(thing, Decal) else None
    if request.method == "GET":
        return draw(request, "photos", page_context(request, thing, new_form(thing, stage)))
    refuse_onlookers(request)
    form = PhotosForm(request.POST, request.FILES, stages=stages_of(thing, stage))
    if not form.is_valid():
        return draw(request, "photos", page_context(request, thing, form), status=422)
    try:
        kept = _add(request, thing, form)
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return draw(request, "photos", page_context(request, thing, form), status=422)
    messages.success(request, f"{counted(len(kept), 'photo')} kept.")
    return redirect(request.path if request.htmx else address_of(thing))


def _add(request: HttpRequest, thing: Project | Decal, form: PhotosForm) -> list[Photo]:
    return photos.add_photos(
        project=thing.project if isinstance(thing, Decal) else thing,
        decal=thing if isinstance(thing, Decal) else None,
        photos=form.ready,
        stage=form.cleaned_data["stage"],
        caption=form.cleaned_data["caption"],
        by=request.user,
        moment=timezone.now(),
    )


def _beside(found: Photo) -> dict[str, object]:
    """Where the photo belongs, and those before and after it there."""
    thing = found.decal or found.project
    row = list(thing.photos.shown())
    place = row.index(found) if found in row else None
    return {
        "thing": thing,
        "back": address_of(thing),
        "older": row[place - 1] if place else None,
        "newer": row[place + 1] if place is not None and place + 1 < len(row) else None,
    }


def _get_photo(pk: int) -> Photo:
    """A photo with its project, its decal and who took it."""
    return get_object_or_404(Photo.objects.select_related("project", "decal__project", "by"), pk=pk)
