"""One search over everything, which also takes the short code of a card or sheet."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_GET

from decaljobs.forms.search import SearchForm
from decaljobs.services.finding import MOST_OF_A_KIND, Group, by_code, find_everything
from decaljobs.views.pages import draw

#: Where all records of a kind are listed.
LISTED = {
    "projects": "projects",
    "artwork": "artwork-list",
    "sheets": "sheets",
    "recipes": "trials",
}


@dataclass(frozen=True)
class Shown(Group):
    """A group as the page shows it: how a row is drawn, and where there are more."""

    template: str = ""
    more_at: str = ""


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
        "groups": [_shown(group, words) for group in find_everything(words)] if words else [],
        "most": MOST_OF_A_KIND,
    }
    return draw(request, "search", context)


def _shown(group: Group, words: str) -> Shown:
    more_at = ""
    if group.has_more and group.kind in LISTED:
        more_at = f"{reverse(LISTED[group.kind])}?{urlencode({'q': words})}"
    return Shown(**vars(group), template=f"search/_{group.kind}.html", more_at=more_at)
