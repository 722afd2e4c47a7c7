"""One search over everything, which also takes the short code of a card or sheet."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET

from decaljobs.forms.search import SearchForm
from decaljobs.services.finding import MOST_OF_A_KIND, by_code, find_everything
from decaljobs.views.pages import draw


@require_GET
def search(request: HttpRequest) -> HttpResponse:
    """A code opens its project or sheet; other words list whatever holds them."""
    form = SearchForm(request.GET)
    words = form.words.strip()
    coded = by_code(words)
    if coded is not None:
        return redirect(coded)
    context = {
        "form": form,
        "words": words,
        "moment": timezone.now(),
        "groups": find_everything(words) if words else [],
        "most": MOST_OF_A_KIND,
    }
    return draw(request, "search", context)
