"""Walking through a session: one task after the other, each with one large button."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from decaljobs.craft.doings import Doing
from decaljobs.forms.paper import PaperForm
from decaljobs.forms.plan import TaskForm, WalkForm
from decaljobs.models import Decal, Sheet
from decaljobs.pdf.evening import evening_sheet_pdf
from decaljobs.services.plan import plans, walking
from decaljobs.services.plan.eveningsheet import advice_on_task, evening_sheet
from decaljobs.services.refused import Refused, TooEarly
from decaljobs.views.access import makers_only
from decaljobs.views.once import once
from decaljobs.views.pages import draw, pdf_answer, say_refused
from decaljobs.views.plan import makers_by_name
from decaljobs.views.plan_rows import capital, moment_of, session_words, stamp_of

KEPT = "walk"
BUTTONS = {
    Doing.PRINT: "Printed",
    Doing.COAT: "Coat sprayed",
    Doing.BASE: "Base applied",
    Doing.CLEAR: "Clear applied",
    Doing.OVERCOAT: "Overcoated",
}


@dataclass
class Walk:
    """A session being walked through: its tasks, and what became of each.

    planned: when the plan was made, in ISO 8601. offcuts: the numbers of those that were empty
    then. done: by task 'logged' or 'skipped', in the order it was done. undo: what undoing wants.
    """

    pk: int
    stamp: str
    session: dict[str, Any]
    planned: str = ""
    offcuts: list[int] = field(default_factory=list)
    done: dict[str, str] = field(default_factory=dict)
    undo: dict[str, Any] = field(default_factory=dict)

    @property
    def tasks(self) -> list[dict[str, Any]]:
        tasks: list[dict[str, Any]] = self.session["tasks"]
        return tasks

    def task(self, name: str) -> dict[str, Any] | None:
        return next((task for task in self.tasks if task["id"] == name), None)

    @property
    def current(self) -> dict[str, Any] | None:
        """The first task that is neither logged nor skipped."""
        return next((task for task in self.tasks if task["id"] not in self.done), None)


@require_GET
def walk(request: HttpRequest, pk: int, stamp: str) -> HttpResponse:
    """The session's next task, and those before and after it."""
    return _draw(request, _get_walk(request, pk, stamp))


@makers_only
@require_POST
@once
def log(request: HttpRequest, pk: int, stamp: str) -> HttpResponse:
    """Log the task that was done, for those of its decals that are ticked."""
    walk = _get_walk(request, pk, stamp)
    form = WalkForm(request.POST)
    task = walk.task(form.asked) if form.is_valid() else None
    if task is None or task["id"] in walk.done:
        return _overtaken(request, walk)
    try:
        logged = walking.log_task(
            task=task,
            decals=form.cleaned_data["decal"],
            by=request.user,
            moment=timezone.now(),
            reason=form.cleaned_data["reason"],
        )
    except TooEarly as refusal:
        form.add_error("reason", str(refusal))
    except Refused as refusal:
        form.add_error(None, str(refusal))
    else:
        walk.done[task["id"]] = "logged"
        walk.undo[task["id"]] = asdict(logged)
        return _keep(request, walk)
    return _draw(request, walk, form=form)


@makers_only
@require_POST
@once
def skip(request: HttpRequest, pk: int, stamp: str) -> HttpResponse:
    """Go on to the next task; this one stays for another time."""
    walk = _get_walk(request, pk, stamp)
    name = TaskForm(request.POST).asked
    if walk.task(name) is None or name in walk.done:
        return _overtaken(request, walk)
    walk.done[name] = "skipped"
    return _keep(request, walk)


@makers_only
@require_POST
@once
def undo(request: HttpRequest, pk: int, stamp: str) -> HttpResponse:
    """Take a task back, or turn back to one that was skipped."""
    walk = _get_walk(request, pk, stamp)
    name = TaskForm(request.POST).asked
    task = walk.task(name)
    if task is None or name not in walk.done:
        return _overtaken(request, walk)
    try:
        if walk.done[name] == "logged":
            logged = walking.TaskLogged(**walk.undo[name])
            walking.undo_task(task=task, logged=logged, by=request.user, moment=timezone.now())
    except Refused as refusal:
        say_refused(request, refusal)
        return redirect("plan-session", walk.pk, walk.stamp)
    walk.undo.pop(name, None)
    del walk.done[name]
    return _keep(request, walk)


@require_GET
def sheet(request: HttpRequest, pk: int, stamp: str) -> HttpResponse:
    """The session on paper."""
    paper = PaperForm(request.GET).paper
    made = evening_sheet(session=get_session(pk, stamp), moment=timezone.now())
    return pdf_answer(evening_sheet_pdf(made, paper=paper), f"session-{stamp}.pdf")


@makers_only
@require_POST
def restart(request: HttpRequest, pk: int, stamp: str) -> HttpResponse:
    """Forget what was walked through and take the session as the plan has it now."""
    request.session.pop(KEPT, None)
    return redirect("plan-session", pk, stamp)


def get_session(pk: int, stamp: str) -> dict[str, Any]:
    """The session of the newest plan that an address names; 404 without."""
    return _session_in(plans.newest_found(), pk, stamp)


def _session_in(found: dict[str, Any], pk: int, stamp: str) -> dict[str, Any]:
    makers = makers_by_name()
    for session in found.get("sessions", []):
        is_it = makers.get(session["maker"]) == pk
        if is_it and stamp_of(moment_of(session["start"])) == stamp:
            return session
    raise Http404


def _get_walk(request: HttpRequest, pk: int, stamp: str) -> Walk:
    """The walk that was begun, else one through the session as it is planned now.

    A next sheet that was laid out on the way is the sheet that its tasks go on with.
    """
    walk = _kept_walk(request, pk, stamp) or _new_walk(pk, stamp)
    if walk.planned:
        since = datetime.fromisoformat(walk.planned)
        walk.session["tasks"] = walking.on_filled_sheets(
            walk.tasks, since=since, offcuts=walk.offcuts
        )
    return walk


def _kept_walk(request: HttpRequest, pk: int, stamp: str) -> Walk | None:
    kept = request.session.get(KEPT)
    return Walk(**kept) if kept and (kept["pk"], kept["stamp"]) == (pk, stamp) else None


def _new_walk(pk: int, stamp: str) -> Walk:
    plan = plans.newest()
    if plan is None:
        raise Http404
    session = _session_in(plan.found, pk, stamp)
    return Walk(pk, stamp, session, plan.moment.isoformat(), plan.found.get("offcuts", []))


def _keep(request: HttpRequest, walk: Walk) -> HttpResponse:
    request.session[KEPT] = asdict(walk)
    plans.begin(moment=timezone.now())
    return redirect("plan-session", walk.pk, walk.stamp)


def _overtaken(request: HttpRequest, walk: Walk) -> HttpResponse:
    say_refused(request, "The session has moved on since this page was drawn.")
    return redirect("plan-session", walk.pk, walk.stamp)


def _draw(request: HttpRequest, walk: Walk, *, form: WalkForm | None = None) -> HttpResponse:
    moment = timezone.now()
    start, end = (moment_of(walk.session[name]) for name in ("start", "end"))
    task = walk.current
    context = {
        "walk": walk,
        "when": capital(session_words(start, end, moment)),
        "form": form or WalkForm(),
        "moment": moment,
        "done": [(t, capital(t["words"]), walk.done[t["id"]]) for t in _done(walk)],
        "ahead": [t for t in walk.tasks if t["id"] not in walk.done and t is not task],
        **(_task(task, form) if task else {}),
    }
    return draw(request, "walk", context)


def _done(walk: Walk) -> list[dict[str, Any]]:
    """The tasks behind, the last one done on top."""
    return [task for name in reversed(walk.done) for task in walk.tasks if task["id"] == name]


def _task(task: dict[str, Any], form: WalkForm | None) -> dict[str, Any]:
    """The task in hand: its decals, what to heed and what to have ready, its button."""
    doing = Doing(task["doing"])
    found = Decal.objects.filter(pk__in=task["decals"]).select_related("project", "artwork")
    decals = list(found.order_by("place", "number"))
    on_sheet = Sheet.objects.filter(pk=task["sheet"]) if task["sheet"].isdigit() else ()
    sheet = next(iter(on_sheet), None)
    ticked = set(form.cleaned_data.get("decal") or []) if form else set(task["decals"])
    return {
        "task": task,
        "title": capital(task["words"]),
        "decals": [(decal, decal.pk in ticked) for decal in decals],
        "sheet": sheet,
        "told": advice_on_task(task, [decal.build for decal in decals], sheet),
        "button": BUTTONS[doing],
        "to_fill": task["sheet"].startswith(walking.NEXT_SHEET),
    }
