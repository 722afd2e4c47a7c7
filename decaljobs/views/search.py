"""One search over everything, which also takes the short code of a card or sheet."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET

from decaljobs.forms.search import SearchForm
from decaljobs.models import Artwork, Decal, Project, Sheet
from decaljobs.views.pages import draw

MOST_OF_A_KIND = 20


@require_GET
def search(request: HttpRequest) -> HttpResponse:
    """A code opens its project or sheet; other words list whatever holds them."""
    form = SearchForm(request.GET)
    words = form.words
    coded = _by_code(words)
    if coded is not None:
        return redirect(coded)
    context = {"form": form, "words": words, "moment": timezone.now()}
    if words:
        context |= {
            "projects": Project.objects.found(words)[:MOST_OF_A_KIND],
            "decals": Decal.objects.found(words).for_rows()[:MOST_OF_A_KIND],
            "sheets": Sheet.objects.found(words)[:MOST_OF_A_KIND],
            "artwork": Artwork.objects.found(words)[:MOST_OF_A_KIND],
        }
    return draw(request, "search", context)


def _by_code(words: str) -> Project | Sheet | None:
    if not words:
        return None
    return (
        Project.objects.filter(code__iexact=words).first()
        or Sheet.objects.filter(code__iexact=words).first()
    )
