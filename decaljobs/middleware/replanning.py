"""Middleware that makes the plan anew once something that it rests on was changed."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from decaljobs.middleware import Answer, noted_if_there_is_room
from decaljobs.services.plan import plans
from decaljobs.views.pages import was_taken

#: Addresses whose forms change what a plan is made from; the plan's own see to it themselves.
BEARS_ON_THE_PLAN = (
    *("bench", "decal", "sheet", "piece", "project", "film"),
    *("room", "reading", "import", "rule", "person"),
)


def replan(get_response: Answer) -> Answer:
    """Middleware that hands the next plan to the worker after a form that was taken."""

    def watched(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        match = request.resolver_match
        bears = match and (match.url_name or "").startswith(BEARS_ON_THE_PLAN)
        if request.method == "POST" and bears and was_taken(request, response):
            with noted_if_there_is_room():
                plans.follow_change(moment=timezone.now())
        return response

    return watched
