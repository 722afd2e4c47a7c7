"""Artwork: the drawings, their print sizes, and the pictures themselves."""

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_GET, require_http_methods

from decaljobs.forms.artwork import ArtworkChangeForm, ArtworkForm
from decaljobs.forms.lists import ArtworkListForm
from decaljobs.models import Artwork
from decaljobs.services.artwork.keeping import change_artwork, keep_artwork
from decaljobs.services.refused import BadPicture
from decaljobs.views.access import makers_only
from decaljobs.views.once import once
from decaljobs.views.pages import draw, page_of


@require_GET
def artwork_list(request: HttpRequest) -> HttpResponse:
    """All artwork by name."""
    form = ArtworkListForm(request.GET)
    rows = form.rows(Artwork.objects.with_counts())
    context = {"form": form, "rows": page_of(rows, request.GET)}
    return draw(request, "artwork_list", context)


@makers_only
@require_http_methods(["GET", "POST"])
@once
def artwork_new(request: HttpRequest) -> HttpResponse:
    """Bring a picture and say how wide it is to be printed."""
    form = ArtworkForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        try:
            kept = keep_artwork(moment=timezone.now(), **form.cleaned_data)
        except BadPicture as refusal:
            form.add_error("picture", str(refusal))
        else:
            messages.success(request, f"{kept} is kept.")
            return redirect("artwork-measured", kept.pk)
    return draw(request, "artwork_form", {"form": form, "artwork": None})


@require_GET
def artwork(request: HttpRequest, pk: int) -> HttpResponse:
    """One drawing, its size, and the decals that use it."""
    found = get_object_or_404(Artwork, pk=pk)
    decals = found.decals.for_rows().order_by("project", "place", "number")
    context = {
        "artwork": found,
        "rows": page_of(decals, request.GET),
        "moment": timezone.now(),
    }
    return draw(request, "artwork", context)


@makers_only
@require_http_methods(["GET", "POST"])
def artwork_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Rename artwork or change its print width."""
    found = get_object_or_404(Artwork, pk=pk)
    start = {"name": found.name, "width_mm": found.width_mm}
    form = ArtworkChangeForm(request.POST or None, initial=start)
    if request.method == "POST" and form.is_valid():
        change_artwork(artwork=found, **form.cleaned_data)
        messages.success(request, f"{found} is changed.")
        return redirect(found)
    return draw(request, "artwork_form", {"form": form, "artwork": found})


@require_GET
@cache_control(private=True, max_age=86400)
def picture(request: HttpRequest, pk: int) -> FileResponse:
    """The picture itself, as we re-encoded it."""
    return FileResponse(get_object_or_404(Artwork, pk=pk).picture.open("rb"))


@require_GET
@cache_control(private=True, max_age=86400)
def preview(request: HttpRequest, pk: int) -> FileResponse:
    """A small version of the picture for lists."""
    return FileResponse(get_object_or_404(Artwork, pk=pk).preview.open("rb"))
