"""Where decals sit on the panels of a model: panels made, decals put on, moved, taken off."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_http_methods, require_POST

from decaljobs.forms.placing import PanelForm, PlaceForm
from decaljobs.models import Decal, Panel, Project
from decaljobs.services.projects import placing
from decaljobs.services.refused import Refused
from decaljobs.views.access import makers_only, refuse_onlookers
from decaljobs.views.pages import draw, say_refused
from decaljobs.views.placing_page import placing_context


@require_http_methods(["GET", "POST"])
def project_placing(request: HttpRequest, code: str) -> HttpResponse:
    """The panels of a project with their decals, to scale; a new panel is sent here."""
    project = get_object_or_404(Project.objects.coded(code))
    if request.method == "GET":
        return draw(request, "placing", placing_context(project))
    refuse_onlookers(request)
    form = PanelForm(request.POST, project=project)
    if form.is_valid():
        try:
            made = placing.add_panel(project=project, **form.wanted)
        except Refused as refusal:
            form.add_error("name", str(refusal))
        else:
            return _answer(request, project, f"{made.name} is added: put decals on it.")
    return draw(request, "placing", placing_context(project, panel_form=form))


@makers_only
@require_POST
def place(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a decal on a panel, or move it there."""
    panel = _get_panel(pk)
    decals = panel.project.decals.all()
    form = PlaceForm(request.POST, decals=decals, panel=pk)
    if form.is_valid():
        placing.place_decal(panel=panel, **form.cleaned_data)
        return _answer(request, panel.project, f"{form.cleaned_data['decal'].words} is placed.")
    context = placing_context(panel.project, place_forms={pk: form})
    return draw(request, "placing", context, status=422)


@makers_only
@require_POST
def take_off(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a decal off its panel."""
    decal = get_object_or_404(Decal.objects.select_related("project"), pk=pk)
    try:
        placing.take_off(decal=decal)
    except Refused as refusal:
        say_refused(request, refusal)
        return redirect("project-placing", decal.project.code)
    return _answer(request, decal.project, f"{decal.words} is taken off its panel.")


@makers_only
@require_http_methods(["GET", "POST"])
def panel_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Rename or resize a panel."""
    panel = _get_panel(pk)
    form = PanelForm(request.POST or None, project=panel.project, panel=panel)
    if request.method == "POST" and form.is_valid():
        try:
            placing.change_panel(panel=panel, **form.wanted)
        except Refused as refusal:
            form.add_error("name", str(refusal))
        else:
            messages.success(request, f"{panel.name} is changed.")
            return redirect("project-placing", panel.project.code)
    return draw(request, "panel_form", {"form": form, "panel": _get_panel(pk)})


@makers_only
@require_POST
def panel_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Remove a panel; its decals stay."""
    panel = _get_panel(pk)
    placing.drop_panel(panel=panel)
    messages.success(request, f"{panel.name} is removed. Its decals are kept.")
    return redirect("project-placing", panel.project.code)


def _answer(request: HttpRequest, project: Project, said: str) -> HttpResponse:
    """The page anew, or for a script only what changed on it."""
    if not request.htmx:
        messages.success(request, said)
        return redirect("project-placing", project.code)
    context: dict[str, Any] = {**placing_context(project), "said": said}
    return draw(request, "placing", context)


def _get_panel(pk: int) -> Panel:
    return get_object_or_404(Panel.objects.select_related("project"), pk=pk)
