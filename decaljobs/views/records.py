"""Records: finished work, what it cost, what went wrong, and a quote for work to come."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_GET

from decaljobs.craft.quote import Quote
from decaljobs.forms.jobcard import PaperForm
from decaljobs.forms.search import SearchForm
from decaljobs.models import Photo, Project
from decaljobs.pdf.quote import quote_pdf
from decaljobs.services import records as looked_back
from decaljobs.services.benchminutes import minutes_taken
from decaljobs.services.costs import decal_totals, project_costs
from decaljobs.services.estimates import estimate
from decaljobs.services.mishaps import mishaps
from decaljobs.services.rates import rules
from decaljobs.services.words import say_date
from decaljobs.views.pages import draw, page_of, pdf_answer


@require_GET
def records(request: HttpRequest) -> HttpResponse:
    """Finished projects, and how often something went wrong."""
    form, moment = SearchForm(request.GET), timezone.now()
    found = looked_back.finished_projects(moment=moment, words=form.words)
    context = {
        "form": form,
        "rows": page_of(found, request.GET.get("page")),
        "mishaps": mishaps(moment=moment),
        "moment": moment,
    }
    return draw(request, "records", context)


@require_GET
def record(request: HttpRequest, code: str) -> HttpResponse:
    """One project looked back on: photos, films, waits, failures and cost."""
    project = get_object_or_404(Project.objects.kept(), code__iexact=code)
    moment = timezone.now()
    context = {
        "project": project,
        "photos": Photo.objects.shown().of_project(project.code),
        "waits": looked_back.real_waits(project),
        "failures": looked_back.failures(project),
        "films": looked_back.films_of(project),
        "recipes": looked_back.recipes_of(project),
        "costs": project_costs(project),
        "estimate": estimate(project, moment=moment),
        "decals": decal_totals(project),
        "currency": rules().currency,
        "moment": moment,
    }
    return draw(request, "record", context)


@require_GET
def times(request: HttpRequest) -> HttpResponse:
    """Minutes by step: what is planned with, and what the log says it took."""
    return draw(request, "record_times", {"rows": minutes_taken().values()})


@require_GET
def quote(request: HttpRequest, code: str) -> HttpResponse:
    """What a project will cost, as a paper for the customer."""
    project = get_object_or_404(Project.objects.kept(), code__iexact=code)
    form = PaperForm(request.GET)
    cost = estimate(project, moment=timezone.now())
    asked = Quote(
        code=project.code,
        name=project.name,
        customer=project.customer,
        date=say_date(timezone.localdate()),
        decals=tuple(decal.words for decal in project.decals.order_by("place", "number")),
        cost=cost,
    )
    return pdf_answer(quote_pdf(asked, paper=form.paper), f"quote-{project.code}.pdf")
