"""What every page goes through: written in its reader's ways, and packed for a slow line."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import nullcontext
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware
from django.utils import timezone

from decaljobs.shown import written_for

Answer = Callable[[HttpRequest], HttpResponse]


def write_for_the_reader(answer: Answer) -> Answer:
    """Lengths, clock, dates and zone as this person wants them; the workshop's own otherwise."""

    def written(request: HttpRequest) -> HttpResponse:
        person = request.user
        if not person.is_authenticated:
            return answer(request)
        zone = timezone.override(ZoneInfo(person.zone)) if person.zone else nullcontext()
        with written_for(person.ways), zone:
            return answer(request)

    return written


class PackedPages(GZipMiddleware):
    """Pages and drawings are packed; pictures and archives are packed already.

    Django's own middleware adds bytes by chance, against guessing a page by its size (BREACH).
    """

    def process_response(
        self, request: HttpRequest, response: HttpResponseBase
    ) -> HttpResponseBase:
        kind = response.headers.get("Content-Type", "")
        if not kind.startswith(("text/html", "image/svg+xml")):
            return response
        return super().process_response(request, response)
