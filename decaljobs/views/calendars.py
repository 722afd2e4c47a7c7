"""A person's calendar: its secret address, the feed behind it, and the same as a file."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from decaljobs.models import Person
from decaljobs.services.plan import calendars, plans
from decaljobs.services.refused import Refused
from decaljobs.views.access import makers_only
from decaljobs.views.pages import draw


@require_GET
def calendar_page(request: HttpRequest) -> HttpResponse:
    """The address of one's own calendar."""
    secret = request.user.calendar_secret
    address = request.build_absolute_uri(reverse("calendar", args=[secret])) if secret else ""
    return draw(request, "plan_calendar", {"address": address})


@makers_only
@require_POST
def renew(request: HttpRequest) -> HttpResponse:
    """A new address; the one before opens nothing any more."""
    calendars.renew_secret(person=request.user)
    messages.success(request, "Your calendar has a new address. An older one no longer works.")
    return redirect("plan-calendar")


@require_GET
def download(request: HttpRequest) -> HttpResponse:
    """One's own calendar as a file."""
    return _answer(request.user, as_file=True)


@login_not_required
@never_cache
@require_GET
def feed(request: HttpRequest, secret: str) -> HttpResponse:
    """The calendar for a program that knows its secret address, and nothing for any other.

    Such programs come by themselves: the plan is made anew for them where it is out of date.
    """
    try:
        person = calendars.person_of(secret=secret)
    except Refused as refusal:
        raise Http404 from refusal
    plans.begin_if_stale(moment=timezone.now())
    return _answer(person, as_file=False)


def _answer(person: Person, *, as_file: bool) -> HttpResponse:
    plan = plans.newest()
    found, made = (plan.found, plan.made_at) if plan else ({}, timezone.now())
    data = calendars.calendar_of(person=person, found=found, made=made)
    response = HttpResponse(data, content_type="text/calendar; charset=utf-8")
    response["Content-Disposition"] = content_disposition_header(as_file, "bench.ics")
    return response
