"""Every page is written in its reader's ways."""

from __future__ import annotations

from contextlib import nullcontext
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from decaljobs.middleware import Answer
from decaljobs.shown import written_for


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
