"""One decal: its art on the paint, its next step, its pieces and its log."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from decaljobs.craft.stages import Build, Layer, Stage
from decaljobs.forms.decals import ChangeDecalForm, SpoilLayerForm, StepForm
from decaljobs.forms.plain import SeenForm
from decaljobs.models import Decal
from decaljobs.services.bench import spoiling, steps, undoing
from decaljobs.services.projects import projects
from decaljobs.services.refused import Refused, TooEarly
from decaljobs.views.access import makers_only
from decaljobs.views.decal_page import draw_decal, get_decal, layers_on_model
from decaljobs.views.just_logged import remember
from decaljobs.views.once import once
from decaljobs.views.pages import back_to, draw, say_refused


@require_GET
def decal(request: HttpRequest, pk: int) -> HttpResponse:
    """Everything about one decal."""
    return draw_decal(request, pk)


@makers_only
@require_POST
@once
def log(request: HttpRequest, pk: int) -> HttpResponse:
    """Log the next step, or that a layer is dry to the touch."""
    found, form = get_decal(pk), StepForm(request.POST)
    if form.is_valid():
        wanted = form.cleaned_data
        try:
            events = steps.log_step(
                decals=[found.pk],
                step=Stage(wanted["step"]),
                by=request.user,
                moment=timezone.now(),
                at=wanted["at"],
                reason=wanted["reason"],
                seen=_seen(found, wanted["seen"]),
            )
        except TooEarly as refusal:
            form.add_error("reason", str(refusal))
        except Refused as refusal:
            form.add_error("at" if wanted["at"] else None, str(refusal))
        else:
            remember(request, events)
            return redirect(found)
    return draw_decal(request, pk, step_form=form)


@makers_only
@require_POST
@once
def undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back the last line of the log."""
    found, form = get_decal(pk), SeenForm(request.POST)
    seen = form.cleaned_data["seen"] if form.is_valid() else None
    try:
        event = undoing.undo_last(decal=pk, by=request.user, moment=timezone.now(), seen=seen)
    except Refused as refusal:
        say_refused(request, refusal)
    else:
        messages.success(request, f"‘{event.undoes.words}’ is undone: {found.words}.")
    return redirect(back_to(request) or found)


@makers_only
@require_POST
@once
def spoil(request: HttpRequest, pk: int) -> HttpResponse:
    """Log that a layer on the model is spoiled."""
    found = get_decal(pk)
    form = SpoilLayerForm(request.POST, layers=layers_on_model(found, timezone.now()))
    if form.is_valid():
        wanted = form.cleaned_data
        try:
            event = spoiling.spoil_layer(
                decal=pk,
                layer=Layer(wanted["layer"]),
                by=request.user,
                moment=timezone.now(),
                at=wanted["at"],
                reason=wanted["reason"],
                cause=wanted["cause"],
                seen=wanted["seen"],
            )
        except Refused as refusal:
            form.add_error("at" if wanted["at"] else None, str(refusal))
        else:
            messages.success(request, f"{event.words}: {found.words}.")
            return redirect(found)
    return draw_decal(request, pk, spoil_form=form)


@makers_only
@require_http_methods(["GET", "POST"])
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what a decal is."""
    found = get_decal(pk)
    form = ChangeDecalForm(request.POST or None, instance=found)
    if request.method == "POST" and form.is_valid():
        wanted = form.cleaned_data
        try:
            projects.change_decal(
                decal=pk,
                artwork=wanted["artwork"],
                place=wanted["place"],
                build=Build(wanted["build"]),
                note=wanted["note"],
                upright=wanted["upright"],
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{wanted['place']} is changed.")
            return redirect("decal", pk)
    return draw(request, "decal_form", {"form": form, "decal": get_decal(pk)})


@makers_only
@require_POST
def drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Remove a decal that nothing was ever logged on."""
    found = get_decal(pk)
    try:
        projects.drop_decal(decal=pk)
    except Refused as refusal:
        say_refused(request, refusal)
        return redirect(found)
    messages.success(request, f"{found.words} is removed.")
    return redirect(found.project)


def _seen(found: Decal, seen: int | None) -> dict[int, int] | None:
    return None if seen is None else {found.pk: seen}
