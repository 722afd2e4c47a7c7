"""Who did what is noted with each request that changes something."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from decaljobs.middleware import Answer, noted_if_there_is_room
from decaljobs.middleware.deed_words import deed_words
from decaljobs.services.people.deeds import note_deed
from decaljobs.views.pages import was_taken


def note_deeds(get_response: Answer) -> Answer:
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
            with noted_if_there_is_room():
                note_deed(
                    person=request.user,
                    agent=request.META.get("HTTP_USER_AGENT", ""),
                    what=deed_words(match.url_name or ""),
                    path=request.path,
                    moment=timezone.now(),
                )
        return response

    return noted


def _was_done(request: HttpRequest, response: HttpResponse) -> bool:
    """A form that is taken leads on, or a script is given what changed on its page."""
    return was_taken(request, response) or (bool(request.htmx) and response.status_code == 200)
