"""Projects: the list, one project with its decals, and its job card."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from decaljobs.forms.lists import DecalsListForm, ProjectsForm
from decaljobs.forms.paper import PaperForm
from decaljobs.forms.projects import DecalsForm, ProjectForm
from decaljobs.models import Project
from decaljobs.pdf.jobcard import job_card_pdf
from decaljobs.services.projects import jobcard, projects
from decaljobs.services.refused import BadPicture, Refused
from decaljobs.views.access import makers_only
from decaljobs.views.batches import next_here, sheets_of_project
from decaljobs.views.just_logged import just_logged
from decaljobs.views.once import once
from decaljobs.views.pages import draw, page_of, pdf_answer
from decaljobs.views.photo_page import photos_of_project
from decaljobs.views.placing_page import drawn_panels
from decaljobs.views.site import outside_address


@require_GET
def project_list(request: HttpRequest) -> HttpResponse:
    """All projects, newest first."""
    form = ProjectsForm(request.GET)
    rows = form.rows(Project.objects.with_counts(timezone.now()))
    today = timezone.localdate(timezone=timezone.get_default_timezone())
    context = {"form": form, "rows": page_of(rows, request.GET), "today": today}
    return draw(request, "projects", context)


@makers_only
@require_http_methods(["GET", "POST"])
@once
def project_new(request: HttpRequest) -> HttpResponse:
    """Begin a project."""
    form = ProjectForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        project = projects.make_project(moment=timezone.now(), **form.fields_for_project)
        messages.success(request, f"{project} is begun. Add its decals next.")
        return redirect("decals-new", project.code)
    return draw(request, "project_form", {"form": form, "project": None})


@require_GET
def project(request: HttpRequest, code: str) -> HttpResponse:
    """One project: its decals with their stages, what finishes when, its job card."""
    moment = timezone.now()
    found = get_object_or_404(Project.objects.coded(code))
    counts = found.decals.counts(moment)
    found.first_artwork = counts["first_artwork"]
    form = DecalsListForm(request.GET)
    rows = form.rows(found.decals.for_rows())
    ready = found.decals.ready_at(moment) if found.is_at_work else ()
    context = {
        "project": found,
        "form": form,
        "rows": page_of(rows, request.GET),
        "moment": moment,
        "counts": counts,
        "just_logged": just_logged(request, project=found.pk),
        "next_here": next_here(list(ready)),
        "sheets_to_work": sheets_of_project(found.pk, moment),
        "photos": photos_of_project(found),
        "panels": drawn_panels(found),
    }
    return draw(request, "project", context)


@makers_only
@require_http_methods(["GET", "POST"])
@once
def project_change(request: HttpRequest, code: str) -> HttpResponse:
    """Change what a project is."""
    found = get_project(code)
    form = ProjectForm(request.POST or None, instance=found)
    if request.method == "POST" and form.is_valid():
        try:
            projects.change_project(project=found, **form.fields_for_project)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"{found} is changed.")
            return redirect(found)
    return draw(request, "project_form", {"form": form, "project": get_project(code)})


@makers_only
@require_http_methods(["GET", "POST"])
@once
def decals_new(request: HttpRequest, code: str) -> HttpResponse:
    """Add decals at one place of a project, with artwork chosen or brought along."""
    found = get_project(code)
    form = DecalsForm(request.POST or None, request.FILES or None, project=found)
    if request.method == "POST" and form.is_valid():
        try:
            made = _add_decals(found, form.cleaned_data)
        except BadPicture as refusal:
            form.add_error("picture", str(refusal))
        except Refused as refusal:
            form.add_error("place", str(refusal))
        else:
            messages.success(request, f"{len(made)} added: {form.cleaned_data['place']}.")
            return redirect(found)
    return draw(request, "decals_form", {"form": form, "project": found})


@require_GET
def job_card(request: HttpRequest, code: str) -> HttpResponse:
    """The job card as PDF, on A4 or Letter."""
    found = get_project(code)
    form = PaperForm(request.GET)
    address = outside_address(request, reverse("project", args=[found.code]))
    card = jobcard.job_card(project=found, address=address, moment=timezone.now())
    return pdf_answer(job_card_pdf(card, paper=form.paper), f"job-card-{found.code}.pdf")


def get_project(code: str) -> Project:
    return get_object_or_404(Project.objects.coded(code))


def _add_decals(project: Project, wanted: dict) -> list:
    moment = timezone.now()
    return projects.add_decals_with_art(
        project=project,
        artwork=wanted["artwork"],
        picture=wanted["picture"],
        width_mm=wanted["width_mm"],
        place=wanted["place"],
        build=wanted["build"],
        count=wanted["count"],
        note=wanted["note"],
        moment=moment,
    )
