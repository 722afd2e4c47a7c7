"""The stores: what is there, what runs low or grows old, and each supply's own log."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from decaljobs.craft.stores.supplies import SupplyKind
from decaljobs.forms.search import SearchForm
from decaljobs.forms.stores import BuyForm, KindForm, NoteForm, RulesForm, SupplyForm
from decaljobs.models import StockLine, Supply
from decaljobs.services.film.filmuse import clean_sheets
from decaljobs.services.money import rates
from decaljobs.services.refused import Refused
from decaljobs.services.stores import stock, supplies
from decaljobs.services.stores.on_hand import held
from decaljobs.views.access import makers_only, owners_only
from decaljobs.views.once import once
from decaljobs.views.pages import draw, page_of, say_refused


@require_GET
def stores(request: HttpRequest) -> HttpResponse:
    """Everything that is kept; what wants doing first."""
    form, moment = SearchForm(request.GET), timezone.now()
    rows = held(moment=moment, supplies=Supply.objects.kept().found(form.words))
    context = {
        "form": form,
        "rows": rows,
        "count": [row for row in rows if row.wants_counting],
        "low": [row for row in rows if row.is_low and not row.wants_counting],
        "old": [row for row in rows if row.is_over or row.is_over_soon],
        "moment": moment,
    }
    return draw(request, "stores", context)


@makers_only
@require_http_methods(["GET", "POST"])
@once
def supply_new(request: HttpRequest) -> HttpResponse:
    """Put a supply into the stores, once its kind is said."""
    kind = KindForm(request.GET if request.method == "GET" else request.POST).chosen
    if kind is None:
        return draw(request, "supply_kind", {"kinds": list(SupplyKind)})
    return _supply_form(request, Supply(), kind)


@makers_only
@require_http_methods(["GET", "POST"])
def supply_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a supply and what work uses up of it."""
    found = get_object_or_404(Supply, pk=pk)
    return _supply_form(request, found, SupplyKind(found.kind))


def _supply_form(request: HttpRequest, supply: Supply, kind: SupplyKind) -> HttpResponse:
    known = supply.pk is not None
    form = SupplyForm(request.POST or None, instance=supply, kind=kind)
    if request.method == "POST" and form.is_valid():
        kept = supplies.keep_supply(supply=form.save(commit=False), uses=form.uses)
        messages.success(request, f"{kept} is in the stores.")
        return redirect(kept)
    context = {"form": form, "supply": supply if known else None, "kind": kind}
    return draw(request, "supply_form", context)


@require_GET
def supply(request: HttpRequest, pk: int) -> HttpResponse:
    """One supply: how much is there, and its log."""
    return _supply_page(request, get_object_or_404(Supply, pk=pk))


def _supply_page(
    request: HttpRequest,
    found: Supply,
    *,
    buying: BuyForm | None = None,
    noting: NoteForm | None = None,
) -> HttpResponse:
    moment = timezone.now()
    (row,) = held(moment=moment, supplies=Supply.objects.filter(pk=found.pk))
    lines = found.lines.select_related(
        "by", "stage_event__decal__project", "sheet_event__sheet", "sheet", "undone_by"
    ).order_by("-at", "-pk")
    context = {
        "row": row,
        "lines": page_of(lines.exclude(kind="undo"), request.GET),
        "uses": found.uses.all(),
        "clean": clean_sheets(found),
        "buying": buying or BuyForm(prefix="buy"),
        "noting": noting or NoteForm(prefix="note"),
        "moment": moment,
    }
    return draw(request, "supply", context)


@makers_only
@require_POST
@once
def supply_buy(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep a purchase."""
    found = get_object_or_404(Supply, pk=pk)
    form = BuyForm(request.POST, prefix="buy")
    if form.is_valid():
        try:
            line = stock.buy(
                supply=found, by=request.user, moment=timezone.now(), **form.cleaned_data
            )
        except Refused as refusal:
            form.add_error("at", str(refusal))
        else:
            messages.success(request, f"{line}.")
            return redirect(found)
    return _supply_page(request, found, buying=form)


@makers_only
@require_POST
@once
def supply_note(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep that some was opened, used up, thrown away or counted."""
    found = get_object_or_404(Supply, pk=pk)
    form = NoteForm(request.POST, prefix="note")
    if form.is_valid():
        try:
            line = stock.note(
                supply=found, by=request.user, moment=timezone.now(), **form.cleaned_data
            )
        except Refused as refusal:
            form.add_error("amount", str(refusal))
        else:
            messages.success(request, f"{line}.")
            return redirect(found)
    return _supply_page(request, found, noting=form)


@makers_only
@require_POST
def stock_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a line of a supply's log back."""
    line = get_object_or_404(StockLine.objects.select_related("supply"), pk=pk)
    try:
        stock.undo_line(line=pk, by=request.user, moment=timezone.now())
    except Refused as refusal:
        say_refused(request, refusal)
    else:
        messages.success(request, f"Undone: {line}.")
    return redirect(line.supply)


@makers_only
@require_POST
def supply_gone(request: HttpRequest, pk: int) -> HttpResponse:
    """A supply that is no longer kept leaves the lists."""
    found = get_object_or_404(Supply, pk=pk)
    supplies.no_longer_kept(supply=found, moment=timezone.now())
    messages.success(request, f"{found} is no longer kept.")
    return redirect("stores")


@owners_only
@require_http_methods(["GET", "POST"])
def rules(request: HttpRequest) -> HttpResponse:
    """The workshop's currency and its rate; figures of before keep theirs."""
    form = RulesForm(request.POST or None, instance=rates.rules())
    if request.method == "POST" and form.is_valid():
        rates.change_rules(moment=timezone.now(), **form.cleaned_data)
        messages.success(request, "Kept; prices of before stay in the currency of their day.")
        return redirect("stores")
    return draw(request, "stores_rules", {"form": form})
