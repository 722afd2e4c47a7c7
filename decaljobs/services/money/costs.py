"""What work has cost so far: film by area, what was used up, minutes at the bench."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Max

from decaljobs.craft.doings import DOING_OF
from decaljobs.craft.stages import Stage
from decaljobs.craft.stores.cost import Cost
from decaljobs.models import Decal, Project, Sheet, SheetEvent, StageEvent, StockLine, Supply
from decaljobs.services.film.filmuse import FilmShare, film_of, opened_as
from decaljobs.services.money.ledger import Ledger, UsedUp
from decaljobs.services.money.prices import Prices, UnitPrice
from decaljobs.services.money.rates import Rates, rules
from decaljobs.services.plan.benchminutes import minutes_taken
from decaljobs.services.stores.stock import OF_SHEETS

BENCH_TIME = "Bench time"


def ledger_of(projects: Sequence[Project]) -> Ledger:
    """Everything that projects have used so far (fourteen queries for any number of decals)."""
    decals = set(Decal.objects.filter(project__in=projects).values_list("pk", flat=True))
    sheets = list(
        Sheet.objects.filter(pieces__decal__project__in=projects, printed_at__isnull=False)
        .distinct()
        .order_by("pk")
    )
    shares = {
        film.sheet.pk: [share for share in film.shares if share.decal in decals]
        for film in film_of(sheets)
    }
    prices, ledger = Prices(), Ledger()
    ledger.parts += _film(sheets, shares, prices)
    ledger.parts += _used_on_decals(projects, prices)
    ledger.parts += _used_on_sheets(shares, prices)
    ledger.parts += _work(projects, shares)
    return ledger


def _film(
    sheets: Sequence[Sheet], shares: Mapping[int, Sequence[FilmShare]], prices: Prices
) -> Iterable[UsedUp]:
    """The film of pieces, gaps and waste, each a line of its own; an offcut kept is not charged."""
    films = opened_as(sheets)
    for sheet in sheets:
        film = films.get(sheet.pk)
        price = prices.at(film.pk, sheet.made_at) if film else None
        name = f"{sheet.get_film_display().capitalize()} film"
        for share in shares[sheet.pk]:
            if price is None or film is None:
                yield UsedUp(share.decal, name, "cm²", Decimal(0), None)
                continue
            for what, area in share.areas.items():
                each, quantity = _of_area(price, film), Decimal(repr(area / 100))
                yield UsedUp(share.decal, f"{name}, {what}", "cm²", quantity, each)


def _of_area(price: UnitPrice, film: Supply) -> UnitPrice:
    """The price of a square centimetre of a film bought by the sheet."""
    area = (film.width_mm or 0) * (film.height_mm or 0) / Decimal(100)
    return UnitPrice(price.amount / area, price.currency)


def _used_on_decals(projects: Sequence[Project], prices: Prices) -> Iterable[UsedUp]:
    lines = StockLine.objects.in_force().filter(
        kind=StockLine.Kind.USED, stage_event__decal__project__in=projects
    )
    for line in lines.select_related("supply", "stage_event"):
        price = prices.at(line.supply_id, line.at)
        decal = line.stage_event.decal_id if line.stage_event else 0
        yield UsedUp(decal, str(line.supply), line.supply.unit, line.amount, price)


def _used_on_sheets(shares: Mapping[int, Sequence[FilmShare]], prices: Prices) -> Iterable[UsedUp]:
    lines = StockLine.objects.in_force().filter(
        kind=StockLine.Kind.USED, sheet_event__sheet__in=shares
    )
    for line in lines.select_related("supply", "sheet_event"):
        price = prices.at(line.supply_id, line.at)
        sheet = line.sheet_event.sheet_id if line.sheet_event else 0
        for share in shares[sheet]:
            quantity = line.amount * Decimal(repr(share.fraction))
            yield UsedUp(share.decal, str(line.supply), line.supply.unit, quantity, price)


def _work(
    projects: Sequence[Project], shares: Mapping[int, Sequence[FilmShare]]
) -> Iterable[UsedUp]:
    """Minutes at the bench, each at the rate of its day."""
    rates = Rates()
    minutes = {doing: Decimal(taken.minutes) for doing, taken in minutes_taken().items()}
    done = StageEvent.objects.in_force().filter(
        decal__project__in=projects,
        kind=StageEvent.Kind.STEP,
        how__in=[StageEvent.How.HAND, StageEvent.How.EARLY],
        to_stage__in=DOING_OF,
    )
    for decal, stage, at in done.values_list("decal", "to_stage", "at"):
        if (rate := rates.at(at)).amount:
            yield UsedUp(decal, BENCH_TIME, "min", minutes[DOING_OF[Stage(stage)]], rate)
    worked = SheetEvent.objects.in_force().filter(sheet__in=shares, kind__in=OF_SHEETS)
    for sheet, kind, at in worked.values_list("sheet", "kind", "at"):
        if not (rate := rates.at(at)).amount:
            continue
        for share in shares[sheet]:
            quantity = minutes[OF_SHEETS[kind]] * Decimal(repr(share.fraction))
            yield UsedUp(share.decal, BENCH_TIME, "min", quantity, rate)


@dataclass(frozen=True)
class DecalCost:
    """What one decal has cost so far, in each currency that something was paid in."""

    decal: Decal
    costs: tuple[Cost, ...]


def decal_costs(project: Project, ledger: Ledger) -> list[DecalCost]:
    """What each decal of a project has cost by its ledger, as much as nothing too (two queries)."""
    currencies = ledger.currencies or [rules().currency]
    decals = project.decals.select_related("artwork").order_by("place", "number")
    mine = ledger.by(lambda decal: decal)
    return [
        DecalCost(decal, tuple(mine[decal.pk].cost(currency) for currency in currencies))
        for decal in decals
    ]


@dataclass(frozen=True)
class ProjectCost:
    """What one project has cost so far, in each currency that something was paid in."""

    project: Project
    costs: tuple[Cost, ...]


@dataclass(frozen=True)
class CustomerCosts:
    """What the projects for one customer have cost so far."""

    name: str
    projects: tuple[ProjectCost, ...]

    @property
    def totals(self) -> dict[str, Decimal]:
        """What they have cost together, by currency: the sum of the projects' totals."""
        sums: dict[str, Decimal] = {}
        for cost in (cost for row in self.projects for cost in row.costs):
            sums[cost.currency] = sums.get(cost.currency, Decimal(0)) + cost.total
        return dict(sorted(sums.items()))


@dataclass(frozen=True)
class CustomerRow:
    """One customer, and how many projects are or were for them."""

    name: str
    projects: int


def customers() -> list[CustomerRow]:
    """Everybody that a project is or was for, the newest project first (one query)."""
    found = (
        Project.objects.kept()
        .exclude(customer="")
        .values_list("customer")
        .annotate(number=Count("pk"), newest=Max("made_at"))
        .order_by("-newest", "customer")
    )
    return [CustomerRow(name, number) for name, number, _ in found]


def customer_costs(customer: str) -> CustomerCosts:
    """What the projects for a customer have cost (sixteen queries for any number of them)."""
    projects = list(Project.objects.kept().filter(customer=customer).order_by("-made_at", "-pk"))
    ledger = ledger_of(projects)
    owners = dict(Decal.objects.filter(project__in=projects).values_list("pk", "project"))
    mine = ledger.by(owners.__getitem__)
    otherwise = rules().currency
    return CustomerCosts(
        customer,
        tuple(
            ProjectCost(project, tuple(mine[project.pk].costs(otherwise))) for project in projects
        ),
    )
