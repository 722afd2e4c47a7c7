"""Pictures of art as it looks on a paint: on clear film alone, or laminated."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_GET

from decaljobs.forms.onpaint import PaintForm
from decaljobs.models import Artwork
from decaljobs.services.artwork.onpaint import seen_on_paint


@require_GET
@cache_control(private=True, max_age=600)
def on_paint(request: HttpRequest, pk: int) -> HttpResponse:
    """The art on the paint asked for, ?paint=1d2f57&build=laminated, as PNG."""
    form = PaintForm(request.GET)
    if not form.is_valid():
        raise Http404("No such paint or build.")
    artwork = get_object_or_404(Artwork, pk=pk)
    wanted = form.cleaned_data
    picture = seen_on_paint(
        artwork, f"#{wanted['paint']}", laminated=wanted["build"] == "laminated"
    )
    return HttpResponse(picture, content_type="image/png")
