"""Who did what: noted on the way of each request that changes something, shown to the owner."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from decaljobs.forms.search import SearchForm
from decaljobs.models import Deed
from decaljobs.services.people.deeds import note_deed
from decaljobs.views.access import owners_only
from decaljobs.views.pages import draw, page_of, was_taken


def note_deeds(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware that keeps each change that was asked for and not refused."""

    def noted(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        match = request.resolver_match
        if (
            request.method == "POST"
            and match is not None
            and _was_done(request, response)
            and request.user.is_authenticated
        ):
            note_deed(
                person=request.user,
                agent=request.META.get("HTTP_USER_AGENT", ""),
                what=match.url_name or "",
                path=request.path,
                moment=timezone.now(),
            )
        return response

    return noted


def _was_done(request: HttpRequest, response: HttpResponse) -> bool:
    """A form that is taken leads on, or a script is given what changed on its page."""
    return was_taken(request, response) or (bool(request.htmx) and response.status_code == 200)


@owners_only
@require_GET
def deed_list(request: HttpRequest) -> HttpResponse:
    """Every change of the last year, the newest first."""
    form = SearchForm(request.GET)
    rows = page_of(Deed.objects.newest(form.words), request.GET)
    return draw(request, "deeds", {"form": form, "rows": rows, "moment": timezone.now()})
