"""Records: finished work, what it cost, what went wrong, and a quote for work to come."""

from __future__ import annotations

from functools import partial

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from decaljobs.craft.paper.quote import Quote
from decaljobs.craft.records.realwaits import summed_up
from decaljobs.craft.units import paper as paper_called
from decaljobs.forms.paper import PaperForm
from decaljobs.forms.records import CustomerForm, TakeMinutesForm
from decaljobs.forms.search import SearchForm
from decaljobs.models import Project
from decaljobs.pdf.quote import quote_pdf
from decaljobs.pdf.records import records_pdf
from decaljobs.services.drying.wait_proposals import wait_proposals
from decaljobs.services.film.filmuse import all_film
from decaljobs.services.money.costs import customer_costs, customers, decal_costs, ledger_of
from decaljobs.services.money.estimates import compared, estimate, kept_cost
from decaljobs.services.money.rates import rules
from decaljobs.services.plan.benchminutes import keep_minutes, minutes_taken
from decaljobs.services.records import finished as looked_back
from decaljobs.services.records import sections
from decaljobs.services.records.mishaps import mishaps
from decaljobs.services.records.realwaits import newest_waits, waits_of
from decaljobs.services.records.tables import write_record_tables
from decaljobs.services.words import say_date
from decaljobs.shown import for_everybody
from decaljobs.views.access import makers_only, owners_only
from decaljobs.views.pages import draw, file_answer, page_of, pdf_answer, say_refused


@require_GET
def records(request: HttpRequest) -> HttpResponse:
    """Finished projects, and how often something went wrong."""
    form, moment = SearchForm(request.GET), timezone.now()
    found = looked_back.finished_projects(moment=moment, words=form.words)
    context = {
        "form": form,
        "rows": page_of(found, request.GET),
        "sections": sections.rate_sections(mishaps(moment=moment)),
        "moment": moment,
    }
    return draw(request, "records", context)


@require_GET
def record(request: HttpRequest, code: str) -> HttpResponse:
    """One project looked back on: photos, films, waits, failures and cost."""
    project = get_object_or_404(Project.objects.kept().coded(code))
    moment, ledger = timezone.now(), ledger_of([project])
    films = list(looked_back.films_of(project))
    kept = kept_cost(project)
    before = kept[1] if kept else estimate(project, moment=moment)
    costs = ledger.costs(rules().currency)
    context = {
        "project": project,
        "photos": project.photos.shown(),
        "waits": waits_of(project),
        "failures": looked_back.failures(project),
        "films": films,
        "recipes": looked_back.recipes_of(project),
        "costs": costs,
        "kept_at": kept[0] if kept else None,
        "begun": any(sheet.is_printed for sheet in films),
        "estimate": before,
        "compared": compared(before, costs),
        "decals": decal_costs(project, ledger),
        "moment": moment,
    }
    return draw(request, "record", context)


@require_GET
def times(request: HttpRequest) -> HttpResponse:
    """Real against planned: minutes and waits by step, and what the log proposes."""
    taken = list(minutes_taken().values())
    waits = summed_up(newest_waits())
    context = {
        "sections": [
            sections.minutes_section(taken),
            sections.waits_section(waits),
        ],
        "proposals": [row for row in taken if row.proposal is not None],
        "wait_proposals": wait_proposals(),
    }
    return draw(request, "record_times", context)


@owners_only
@require_POST
def take_minutes(request: HttpRequest) -> HttpResponse:
    """Let the plan and the costs reckon with what the log says a kind of work takes."""
    form = TakeMinutesForm(request.POST)
    row = minutes_taken().get(form.cleaned_data["doing"]) if form.is_valid() else None
    if row is None or row.proposal is None:
        say_refused(request, "The log proposes nothing else for this any more.")
    else:
        keep_minutes(minutes={row.doing: row.proposal})
        messages.success(request, f"Reckoned with from now on: {row.proposal} min.")
    return redirect("record-times")


@require_GET
def film(request: HttpRequest) -> HttpResponse:
    """Where the film went."""
    return draw(request, "record_film", {"sections": [sections.film_section(all_film())]})


@require_GET
def for_customers(request: HttpRequest) -> HttpResponse:
    """What the work for each customer has cost."""
    form = CustomerForm(request.GET)
    context = {"customers": customers(), "chosen": None}
    if form.is_valid() and form.cleaned_data["customer"]:
        context["chosen"] = customer_costs(form.cleaned_data["customer"])
    return draw(request, "record_customers", context)


@require_GET
@for_everybody()
def on_paper(request: HttpRequest) -> HttpResponse:
    """The charts and tables of the records as a paper."""
    form = PaperForm(request.GET)
    today = say_date(timezone.localdate())
    drawn = sections.all_sections(moment=timezone.now())
    size = paper_called(form.paper)
    pdf = records_pdf(drawn, size, title="What came out good", foot=f"printed {today}")
    return pdf_answer(pdf, "records.pdf")


@makers_only
@require_GET
def as_tables(request: HttpRequest) -> FileResponse:
    """The records, costs and stores as CSV files in a zip."""
    write = partial(write_record_tables, moment=timezone.now())
    return file_answer(write, f"records-{timezone.localdate():%Y-%m-%d}.zip")


@require_GET
@for_everybody()
def quote(request: HttpRequest, code: str) -> HttpResponse:
    """What a project will cost, as a paper for the customer; once it is begun, what was kept."""
    project = get_object_or_404(Project.objects.kept().coded(code))
    form, moment = PaperForm(request.GET), timezone.now()
    reckoned_at, cost = kept_cost(project) or (moment, estimate(project, moment=moment))
    asked = Quote(
        code=project.code,
        name=project.name,
        customer=project.customer,
        date=say_date(timezone.localdate(reckoned_at)),
        decals=looked_back.places_of(project),
        cost=cost,
    )
    return pdf_answer(quote_pdf(asked, paper=form.paper), f"quote-{project.code}.pdf")
