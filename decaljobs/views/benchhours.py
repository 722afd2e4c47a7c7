"""Bench hours, one's own or as the owner anybody's, days that differ, and minutes of work."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from decaljobs.forms.benchhours import EVENING, DayForm, MinutesForm, WeekForm, WhoseForm
from decaljobs.models import Person
from decaljobs.services.plan import benchhours, plans
from decaljobs.services.plan.benchminutes import keep_minutes, minutes_taken
from decaljobs.services.refused import Refused
from decaljobs.shown import ways
from decaljobs.views.access import makers_only
from decaljobs.views.pages import draw, say_refused

PLANNED_ANEW = "The plan is made anew."


@makers_only
@require_http_methods(["GET", "POST"])
def hours(request: HttpRequest) -> HttpResponse:
    """The week of a maker."""
    person, back = _whose(request)
    sent = request.POST if request.method == "POST" else None
    form = WeekForm(sent, initial=_week_in_words(person))
    if request.method == "POST" and form.is_valid():
        try:
            benchhours.keep_week(person=person, week=form.week)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            whose = "Your" if person == request.user else "The"
            return _kept(request, f"{whose} bench hours are kept. {PLANNED_ANEW}", back)
    return _draw(request, person, week_form=form)


@makers_only
@require_POST
def day_add(request: HttpRequest) -> HttpResponse:
    """A day that differs: closed, or an extra session."""
    person, back = _whose(request)
    form = DayForm(request.POST)
    if form.is_valid():
        try:
            benchhours.add_day(person=person, **form.wanted)
        except Refused as refusal:
            form.add_error("hours" if form.wanted["starts"] else "day", str(refusal))
        else:
            return _kept(request, f"The day is kept. {PLANNED_ANEW}", back)
    return _draw(request, person, day_form=form)


@makers_only
@require_POST
def day_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Forget a day that differs."""
    person, back = _whose(request)
    try:
        benchhours.drop_day(person=person, pk=pk)
    except Refused as refusal:
        say_refused(request, refusal)
        return redirect(back)
    return _kept(request, f"The day follows the week again. {PLANNED_ANEW}", back)


@makers_only
@require_http_methods(["GET", "POST"])
def minutes(request: HttpRequest) -> HttpResponse:
    """How long each kind of work takes."""
    now = {
        doing: (taken.set_to, f"{taken.minutes} min now: {taken.source}")
        for doing, taken in minutes_taken().items()
    }
    form = MinutesForm(request.POST if request.method == "POST" else None, now=now)
    if request.method == "POST" and form.is_valid():
        keep_minutes(minutes=form.minutes)
        return _kept(request, f"The minutes are kept. {PLANNED_ANEW}", "plan-minutes")
    return draw(request, "plan_minutes", {"form": form})


def _whose(request: HttpRequest) -> tuple[Person, str]:
    """The maker whose hours are meant, and their page; 403 for another's unless by the owner."""
    asked = WhoseForm(request.GET).asked
    page = reverse("plan-hours")
    if asked in (None, request.user.pk):
        return request.user, page
    if not request.user.is_owner:
        raise PermissionDenied("Only the owner sets the bench hours of somebody else.")
    return get_object_or_404(Person.objects.at_the_bench(), pk=asked), f"{page}?person={asked}"


def _kept(request: HttpRequest, said: str, back: str) -> HttpResponse:
    plans.begin(moment=timezone.now())
    messages.success(request, said)
    return redirect(back)


def _week_in_words(person: Person) -> dict[str, str]:
    """The week as the form's fields hold it."""
    words: dict[str, list[str]] = {}
    for stretch in person.bench_hours.all():
        said = ways().stretch(stretch.starts, stretch.ends)
        words.setdefault(f"day{stretch.weekday}", []).append(said)
    return {name: ", ".join(said) for name, said in words.items()}


def _draw(
    request: HttpRequest,
    person: Person,
    *,
    week_form: WeekForm | None = None,
    day_form: DayForm | None = None,
) -> HttpResponse:
    today = timezone.localdate(timezone=timezone.get_default_timezone())
    context: dict[str, Any] = {
        "person": person,
        "evening": ways().stretch(*EVENING),
        "week_form": week_form or WeekForm(initial=_week_in_words(person)),
        "day_form": day_form or DayForm(),
        "days": person.bench_days.filter(day__gte=today)[:100],
    }
    return draw(request, "plan_hours", context)
