"""The plan: coming sessions with their tasks, ends against due dates, and pinned tasks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from decaljobs.craft.plan.chart import plan_chart_svg
from decaljobs.forms.plan import PinForm, TaskForm
from decaljobs.models import Person
from decaljobs.services.plan import planpins, plans
from decaljobs.services.refused import Refused
from decaljobs.services.words import say_stamped
from decaljobs.shown import ways
from decaljobs.views.access import makers_only
from decaljobs.views.pages import draw
from decaljobs.views.plan_rows import (
    capital,
    chart_rows,
    end_rows,
    moment_of,
    next_session,
    session_rows,
    session_words,
    slip_words,
    stamp_of,
)

#: Sessions after the next one that the page shows; the calendar has them all.
MOST_LATER = 12


@dataclass(frozen=True)
class ComingSession:
    """A session that is not over, in which a task can be held."""

    person: Person
    start: datetime
    end: datetime


@require_GET
def plan(request: HttpRequest) -> HttpResponse:
    """The plan in force, what changed since it was made, or how its making goes on."""
    moment = timezone.now()
    now = plans.standing(moment=moment)
    context: dict[str, Any] = {"standing": now, "plan": now.plan, "moment": moment}
    if now.plan is not None:
        context |= _found(request, now.plan.found, moment)
    return draw(request, "plan", context)


@require_GET
def tonight(request: HttpRequest) -> HttpResponse:
    """One's own session that runs or is near, which the bench fetches for itself."""
    return draw(request, "tonight", {"session": next_session(request.user, timezone.now())})


@makers_only
@require_POST
def make(request: HttpRequest) -> HttpResponse:
    """Make the plan anew behind the page."""
    plans.begin(moment=timezone.now())
    return redirect("plan")


@makers_only
@require_http_methods(["GET", "POST"])
def pin(request: HttpRequest) -> HttpResponse:
    """Hold a task in a session, or let it go again."""
    task, sessions = _get_task(request)
    form = PinForm(request.POST or None, sessions=_choices(sessions))
    if form.lets_go:
        planpins.let_go(works=task["works"])
        return _replan(request, f"{capital(task['words'])} is planned freely again.")
    if request.method == "POST" and form.is_valid():
        chosen = sessions[form.cleaned_data["session"]]
        try:
            planpins.pin_work(
                works=task["works"],
                moment=timezone.now(),
                person=chosen.person,
                start=chosen.start,
                end=chosen.end,
            )
        except Refused as refusal:
            form.add_error("session", str(refusal))
        else:
            return _replan(request, f"{capital(task['words'])} is pinned.")
    context = {
        "form": form,
        "task": task,
        "why": say_stamped(task["why"], now=timezone.now()),
        "title": capital(task["words"]),
    }
    return draw(request, "plan_pin", context)


def _replan(request: HttpRequest, said: str) -> HttpResponse:
    plans.begin(moment=timezone.now())
    messages.success(request, said)
    return redirect("plan")


def _get_task(request: HttpRequest) -> tuple[dict[str, Any], dict[str, ComingSession]]:
    """The task of the newest plan that is asked for, and the coming sessions; 404 without."""
    found = plans.newest_found()
    asked = TaskForm(request.GET).asked
    tasks = [task for session in found.get("sessions", []) for task in session["tasks"]]
    task = next((task for task in tasks if task["id"] == asked), None)
    if task is None:
        raise Http404
    makers = {person.username: person for person in Person.objects.all()}
    moment = timezone.now()
    coming = [
        ComingSession(makers[row["maker"]], moment_of(row["start"]), moment_of(row["end"]))
        for row in found["sessions"]
        if row["maker"] in makers and moment_of(row["end"]) > moment
    ]
    return task, {f"{each.person.pk}/{stamp_of(each.start)}": each for each in coming}


def _choices(sessions: dict[str, ComingSession]) -> list[tuple[str, str]]:
    """The sessions in words, with whose they are where there are several makers."""
    moment = timezone.now()
    several = len({each.person.pk for each in sessions.values()}) > 1
    return [
        (name, session_words(each.start, each.end, moment) + f", {each.person}" * several)
        for name, each in sessions.items()
    ]


def makers_by_name() -> dict[str, int]:
    """The numbers of everybody who may have sessions, by name (one query)."""
    return dict(Person.objects.values_list("username", "pk"))


def _found(request: HttpRequest, found: dict[str, Any], moment: datetime) -> dict[str, Any]:
    """What a plan tells, in rows."""
    sessions = session_rows(found, moment, request.user, makers_by_name())
    missed, slips = slip_words(found, request.user.username, moment)
    chart = plan_chart_svg(chart_rows(found), moment, timezone.get_current_timezone(), ways=ways())
    return {
        "notes": [say_stamped(note, now=moment) for note in found["notes"]],
        "unplanned": [
            {**left, "words": say_stamped(left["words"], now=moment)} for left in found["unplanned"]
        ],
        "next": next(iter(sessions), None),
        "later": sessions[1 : 1 + MOST_LATER],
        "beyond": max(0, len(sessions) - 1 - MOST_LATER),
        "mine": next((session for session in sessions if session.is_mine), None),
        "several": len({session.maker for session in sessions}) > 1,
        "has_hours": bool(found["sessions"]),
        "ends": end_rows(found, moment),
        "missed": missed,
        "slips": slips,
        "chart": mark_safe(chart),  # noqa: S308 (drawn by ourselves, escaped there)
    }
