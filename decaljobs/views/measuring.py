"""Artwork measured: its drawing with the cuts, new versions, the maker's own hand."""

from collections.abc import Callable

from django.contrib import messages
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from decaljobs.craft.knife.hand import KNIFE_SPREAD
from decaljobs.forms.measuring import BandColourForm, HandForm, LookForm, RecolourForm, WidenForm
from decaljobs.models import Artwork, Measuring, Recipe
from decaljobs.pdf.teststrip import test_strip_pdf
from decaljobs.services.artwork import measuring as measurings
from decaljobs.services.artwork import reworking
from decaljobs.services.records.edges import edge_for
from decaljobs.services.refused import Refused
from decaljobs.views.access import makers_only
from decaljobs.views.art_drawing import art_drawing
from decaljobs.views.once import once_over_pictures
from decaljobs.views.pages import draw, pdf_answer, say_refused

MOST_RECIPES, MOST_VERSIONS = 20, 20


@require_GET
def measured(request: HttpRequest, pk: int) -> HttpResponse:
    """The drawing of one artwork with its cuts, or how far the measuring is."""
    artwork = get_object_or_404(Artwork, pk=pk)
    return _draw(request, artwork)


@makers_only
@require_POST
def measure(request: HttpRequest, pk: int) -> HttpResponse:
    """Measure artwork for this person's hand; the band's colour may be set by hand."""
    artwork = get_object_or_404(Artwork, pk=pk)
    form = BandColourForm(request.POST)
    if not form.is_valid():
        return _draw(request, artwork, colour_form=form)
    measurings.measure_artwork(
        artwork=artwork, person=request.user, moment=timezone.now(), band_colour=form.given
    )
    return redirect("artwork-measured", pk)


@makers_only
@require_POST
@once_over_pictures
def widen(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a new version with a wider band."""
    return _new_version(request, pk, reworking.widen, "by_mm", widen_form=WidenForm(request.POST))


@makers_only
@require_POST
@once_over_pictures
def recolour(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a new version with its band in another colour."""
    form = RecolourForm(request.POST)
    return _new_version(request, pk, reworking.recolour, "colour", recolour_form=form)


@require_GET
def guides(request: HttpRequest, pk: int) -> HttpResponse:
    """The cut guides as an SVG file in mm."""
    found = _measured(request, get_object_or_404(Artwork, pk=pk))
    if found is None:
        return redirect("artwork-measured", pk)
    answer = HttpResponse(measurings.svg_of(found), content_type="image/svg+xml")
    answer["Content-Disposition"] = content_disposition_header(True, f"cut-guides-{pk}.svg")
    return answer


@makers_only
@require_http_methods(["GET", "POST"])
def hand(request: HttpRequest) -> HttpResponse:
    """How far the maker's own knife and laying stray."""
    person = request.user
    start = {name: getattr(person, name) for name in ("knife_mm", "lay_down_mm", "clear_margin_mm")}
    form = HandForm(request.POST or None, initial=start)
    if request.method == "POST" and form.is_valid():
        measurings.keep_hand(person=person, **form.hand)
        messages.success(request, "Kept. Artwork is measured anew for your hand when you open it.")
        return redirect("hand")
    return draw(request, "hand", {"form": form, "usual_mm": KNIFE_SPREAD})


@require_GET
def test_strip(request: HttpRequest) -> HttpResponse:
    """The strip to cut and lay, from which the spreads are read."""
    return pdf_answer(test_strip_pdf(), "test-strip.pdf")


def _new_version(
    request: HttpRequest, pk: int, make: Callable[..., Artwork], field: str, **forms: Form
) -> HttpResponse:
    """Rework measured art as its form asks; a refusal stands beside the field."""
    artwork = get_object_or_404(Artwork, pk=pk)
    found = _measured(request, artwork)
    if found is None:
        return redirect("artwork-measured", pk)
    (form,) = forms.values()
    if form.is_valid():
        try:
            made = make(measuring=found, moment=timezone.now(), **form.cleaned_data)
        except Refused as refusal:
            form.add_error(field, str(refusal))
        else:
            messages.success(request, f"{made}: {made.change}. The old one is kept.")
            return redirect("artwork-measured", made.pk)
    return _draw(request, artwork, **forms)


def _measured(request: HttpRequest, artwork: Artwork) -> Measuring | None:
    """What measuring found for this person's hand; where it found nothing yet, that is said."""
    found = measurings.measuring_of(artwork, request.user)
    if found is None or found.state != Measuring.State.DONE:
        say_refused(request, "This art is not measured for your hand yet.")
        return None
    return found


def _draw(
    request: HttpRequest,
    artwork: Artwork,
    *,
    colour_form: BandColourForm | None = None,
    widen_form: WidenForm | None = None,
    recolour_form: RecolourForm | None = None,
) -> HttpResponse:
    found = measurings.measuring_of(artwork, request.user)
    look = LookForm(request.GET)
    context = {
        "artwork": artwork,
        "measuring": found,
        "running": bool(found and found.state == "running" and not found.has_died(timezone.now())),
        "look": look,
        "versions": reworking.versions_of(artwork)[:MOST_VERSIONS],
        "colour_form": colour_form or BandColourForm(),
    }
    if found and found.found:
        wider = (found.drawing or {}).get("widen_by_mm")
        context |= {
            "found": found.found,
            "edge": edge_for(found, request.user),
            "drawing": art_drawing(artwork, found, look.times),
            "recipes": Recipe.objects.select_related("trial")[:MOST_RECIPES],
            "widen_form": widen_form or WidenForm(initial={"by_mm": wider or 0.3}),
            "recolour_form": recolour_form
            or RecolourForm(initial={"colour": found.drawing["band_colour"] or "#000000"}),
        }
    return draw(request, "measured", context)
