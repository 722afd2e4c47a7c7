"""The bench: what can be done now, what dries, what is held, and logging several at one go."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from decaljobs.craft.stages import Stage
from decaljobs.forms.bench import HAND_STEPS, BenchForm, LogForm
from decaljobs.models import Room, StageEvent
from decaljobs.services import steps
from decaljobs.services.air import Airs, airs_of
from decaljobs.services.air_words import room_words
from decaljobs.services.moving import lies_in
from decaljobs.services.refused import Refused, TooEarly
from decaljobs.views import bench_rows
from decaljobs.views.access import makers_only
from decaljobs.views.bench_lists import LISTS, OnTheBench, live_projects, on_the_bench
from decaljobs.views.bench_words import until
from decaljobs.views.once import JUST_LOGGED, once
from decaljobs.views.pages import draw


@require_GET
def bench(request: HttpRequest) -> HttpResponse:
    """What lies on the bench, by what can be done to it."""
    whole = not request.htmx or request.htmx.history_restore_request
    just_logged = request.session.pop(JUST_LOGGED, []) if whole else []
    return _draw_bench(request, LogForm(), just_logged=just_logged)


@makers_only
@require_POST
@once
def log(request: HttpRequest) -> HttpResponse:
    """Log one step on the decals of a row's button, or of every ticked row."""
    form = LogForm(request.POST)
    if form.is_valid():
        try:
            events = _log(request, form)
        except TooEarly as refusal:
            form.add_error("reason", str(refusal))
        except Refused as refusal:
            form.add_error("at" if form.cleaned_data["at"] else None, str(refusal))
        else:
            request.session[JUST_LOGGED] = _undoable(events)
            return redirect(reverse("bench") + _query(request))
    return _draw_bench(request, form, status=422)


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


def _undoable(events: list[StageEvent]) -> list[dict[str, Any]]:
    """What the next page needs to say what was logged, and to offer its undoing."""
    return [
        {
            "pk": event.decal_id,
            "name": event.decal.words,
            "label": event.words,
            "seen": event.number,
        }
        for event in events
    ]


def _draw_bench(
    request: HttpRequest,
    log_form: LogForm,
    *,
    just_logged: list[dict[str, Any]] | None = None,
    status: int = 200,
) -> HttpResponse:
    moment = timezone.now()
    form = BenchForm(request.GET, projects=live_projects())
    shown = on_the_bench(form, request.GET, moment)
    airs = airs_of(request)
    context = {
        "form": form,
        "log_form": log_form,
        "ticked": log_form.ticked,
        "just_logged": just_logged,
        "query": _query(request),
        **_lists(shown, moment, airs),
        **_bar(shown),
        **_glance(shown, moment, airs),
    }
    return draw(request, "bench", context, status=status)


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
