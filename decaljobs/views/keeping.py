"""Projects put away, thrown away and brought back, copied, and changed several decals at a time."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from decaljobs.craft.figures import counted
from decaljobs.forms.several import CopyForm, SeveralForm
from decaljobs.models import Project
from decaljobs.services.projects import bin as bins
from decaljobs.services.projects.copying import copy_project
from decaljobs.services.projects.several import DecalChanges, change_several
from decaljobs.services.refused import Refused
from decaljobs.views.access import makers_only, owners_only
from decaljobs.views.once import once
from decaljobs.views.pages import draw, page_of, say_refused
from decaljobs.views.projects import get_project


@makers_only
@require_POST
def put_away(request: HttpRequest, code: str) -> HttpResponse:
    """Archive a project."""
    found = get_project(code)
    said = f"{found} is put away: off the bench, and among the projects that are put away."
    return _keep(
        request, found, said, lambda: bins.put_away(project=found.pk, moment=timezone.now())
    )


@makers_only
@require_POST
def throw_away(request: HttpRequest, code: str) -> HttpResponse:
    """Put a project into the bin."""
    found = get_project(code)
    said = f"{found} is in the bin. It can be brought back until the owner empties it."
    return _keep(
        request, found, said, lambda: bins.throw_away(project=found.pk, moment=timezone.now())
    )


@makers_only
@require_POST
def bring_back(request: HttpRequest, code: str) -> HttpResponse:
    """Take a project up again."""
    found = get_project(code)
    return _keep(
        request, found, f"{found} is at work again.", lambda: bins.bring_back(project=found.pk)
    )


@require_GET
def bin_page(request: HttpRequest) -> HttpResponse:
    """What was thrown away, and what emptying the bin would take."""
    page = page_of(bins.in_the_bin(moment=timezone.now()), request.GET)
    return draw(request, "bin", {"rows": page})


@owners_only
@require_POST
def bin_empty(request: HttpRequest) -> HttpResponse:
    """Empty the bin."""
    try:
        emptied = bins.empty_bin(moment=timezone.now())
    except Refused as refusal:
        say_refused(request, refusal)
    else:
        messages.success(
            request,
            f"The bin is empty: {emptied.removed} removed altogether, "
            f"{emptied.stripped} down to their log and pieces.",
        )
    return redirect("bin")


@makers_only
@require_http_methods(["GET", "POST"])
@once
def copy(request: HttpRequest, code: str) -> HttpResponse:
    """Begin a project with the decals, artwork and places of this one."""
    found = get_project(code)
    form = CopyForm(request.POST or None, initial={"name": found.name})
    if request.method == "POST" and form.is_valid():
        made = copy_project(project=found, moment=timezone.now(), **form.cleaned_data)
        messages.success(request, f"{made} is begun with the decals of {found}.")
        return redirect(made)
    return draw(request, "project_copy", {"form": form, "project": found})


@makers_only
@require_http_methods(["GET", "POST"])
def several(request: HttpRequest, code: str) -> HttpResponse:
    """Change ticked decals of a project at one go."""
    found = get_project(code)
    form = SeveralForm(request.POST or None, project=found)
    if request.method == "POST" and form.is_valid():
        ticked = [decal.pk for decal in form.cleaned_data["decals"]]
        try:
            change_several(
                decals=ticked,
                wishes=DecalChanges(**form.wishes),
                by=request.user,
                moment=timezone.now(),
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            many = counted(len(ticked), "decal is", "decals are")
            messages.success(request, f"{many} changed.")
            return redirect(found)
    context = {"form": form, "project": found, "choices": form.choices_ticked}
    return draw(request, "several", context)


def _keep(
    request: HttpRequest, found: Project, said: str, change: Callable[[], Project]
) -> HttpResponse:
    try:
        change()
    except Refused as refusal:
        say_refused(request, refusal)
    else:
        messages.success(request, said)
    return redirect(found)
