"""The bench: what can be done now, what dries, what is held, and logging several at one go."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from decaljobs.craft.stages import Stage
from decaljobs.forms.bench import HAND_STEPS, BenchForm, LogForm, UndoForm
from decaljobs.models import Room, StageEvent
from decaljobs.services.bench import steps, undoing
from decaljobs.services.bench.moving import lies_in
from decaljobs.services.drying.air import Airs, airs_of
from decaljobs.services.drying.air_words import room_words
from decaljobs.services.refused import Refused, TooEarly
from decaljobs.services.words import until
from decaljobs.views import bench_rows
from decaljobs.views.access import makers_only
from decaljobs.views.bench_lists import LISTS, OnTheBench, live_projects, on_the_bench
from decaljobs.views.guide import guide_context
from decaljobs.views.just_logged import just_logged, remember
from decaljobs.views.once import once
from decaljobs.views.pages import back_to, draw, say_refused


@require_GET
def bench(request: HttpRequest) -> HttpResponse:
    """What lies on the bench, by what can be done to it."""
    return _draw_bench(request, LogForm())


@makers_only
@require_POST
@once
def log(request: HttpRequest) -> HttpResponse:
    """Log one step on the decals of one button, or of every ticked row.

    A form of another page leads back there, with what was logged or why nothing was.
    """
    form, back = LogForm(request.POST), back_to(request)
    if form.is_valid():
        try:
            remember(request, _log(request, form))
        except Refused as refusal:
            if back:
                say_refused(request, refusal)
                return redirect(back)
            wrong = "at" if form.cleaned_data["at"] else None
            form.add_error("reason" if isinstance(refusal, TooEarly) else wrong, str(refusal))
        else:
            return redirect(back or reverse("bench") + _query(request))
    return _draw_bench(request, form)


@makers_only
@require_POST
@once
def undo(request: HttpRequest) -> HttpResponse:
    """Take back what was logged on several decals at one go."""
    form = UndoForm(request.POST)
    if form.is_valid():
        try:
            events = undoing.undo_together(
                decals=form.cleaned_data["decal"],
                by=request.user,
                moment=timezone.now(),
                seen=form.seen,
            )
        except Refused as refusal:
            say_refused(request, refusal)
        else:
            what = events[0].undoes.words
            messages.success(request, f"‘{what}’ is undone on {len(events)} decals.")
    else:
        say_refused(request, "Nothing was named that could be undone.")
    return redirect(back_to(request) or "bench")


def _log(request: HttpRequest, form: LogForm) -> list[StageEvent]:
    wanted = form.cleaned_data
    return steps.log_step(
        decals=wanted["decal"],
        step=Stage(wanted["step"]),
        by=request.user,
        moment=timezone.now(),
        at=wanted["at"],
        reason=wanted["reason"],
        seen=form.seen,
    )


def _draw_bench(request: HttpRequest, log_form: LogForm) -> HttpResponse:
    moment = timezone.now()
    form = BenchForm(request.GET, projects=live_projects())
    shown = on_the_bench(form, request.GET, moment)
    airs = airs_of(request, sprayed=True)
    context = {
        "form": form,
        "log_form": log_form,
        "ticked": log_form.ticked,
        "just_logged": just_logged(request),
        "moment": moment,
        "query": _query(request),
        **_lists(shown, moment, airs),
        **_bar(shown),
        **_glance(shown, moment, airs),
        **_guide(request, shown),
    }
    return draw(request, "bench", context)


def _guide(request: HttpRequest, shown: OnTheBench) -> dict[str, Any]:
    """The first evening's steps: on an empty bench at once, beside work in a request of its own."""
    if request.htmx or not request.user.may_change or request.user.guide_hidden:
        return {}
    if any(shown.count(name) for name in LISTS):
        return {"guide_later": True}
    return guide_context(request.user)


def _lists(shown: OnTheBench, moment: datetime, airs: Airs) -> dict[str, Any]:
    return {
        "pages": shown.pages,
        "ready": bench_rows.ready_groups(shown.things("ready"), moment, airs),
        "drying": bench_rows.drying_rows(shown.things("drying"), moment, airs),
        "held": bench_rows.held_rows(shown.things("held"), moment, airs),
    }


def _bar(shown: OnTheBench) -> dict[str, Any]:
    """The steps that can be logged on ticked rows, and which of them the page holds."""
    present = {getattr(thing, "next_step", "") for thing in shown.things("ready")}
    choices = [
        {"value": step.value, "label": step.words.capitalize(), "present": step.value in present}
        for step in HAND_STEPS
    ]
    return {"steps": choices, "steps_present": any(choice["present"] for choice in choices)}


def _glance(shown: OnTheBench, moment: datetime, airs: Airs) -> dict[str, Any]:
    """The counts, and when the next thing becomes ready."""
    counts = {name: shown.count(name) for name in LISTS}
    drying = shown.things("drying")
    first = drying[0] if drying else None
    soonest = getattr(first, "ready_at", None) or getattr(first, "rested_at", None)
    return {
        "headline": ", ".join(f"{count} {name}" for name, count in counts.items()),
        "rooms": [room_words(room, airs, moment) for room in _rooms(shown, airs)],
        "ready_count": counts["ready"],
        "bench_is_empty": not any(counts.values()),
        "soonest": until(soonest, moment),
    }


def _rooms(shown: OnTheBench, airs: Airs) -> list[Room]:
    """The rooms that what dries lies in; the usual one when nothing does."""
    drying = [lies_in(thing, airs) for thing in shown.things("drying")]
    return list({room.pk: room for room in drying or [airs.default]}.values())


def _query(request: HttpRequest) -> str:
    """What the page was asked to show, to be kept through logging and refreshing."""
    asked = request.GET.urlencode()
    return f"?{asked}" if asked else ""
