"""What a project will cost, before its work has begun: copies to spare included."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from decaljobs.craft.doings import LAYING, Doing
from decaljobs.craft.film.copies import copies_each
from decaljobs.craft.layout.model import GAP
from decaljobs.craft.stages import LAYERS, Build, Layer
from decaljobs.craft.stores.cost import Cost, CostLine
from decaljobs.models import Decal, KeptEstimate, Project, Sheet, Supply, SupplyUse
from decaljobs.services.film.filmuse import EDGE_MM, usual_films
from decaljobs.services.film.twins import Sort, sort_of, twins_together
from decaljobs.services.money.costs import BENCH_TIME
from decaljobs.services.money.ledger import Ledger, UsedUp
from decaljobs.services.money.prices import Prices
from decaljobs.services.money.rates import Rates
from decaljobs.services.plan.benchminutes import minutes_taken
from decaljobs.services.records.piece_steps import steps_by_layer

#: Share of a sheet that a layout fills (a choice; layouts of forty pieces and more have been
#: measured to fill 97 %, a last sheet is rarely full).
FILLED = 0.85


def estimate(project: Project, *, moment: datetime) -> Cost:
    """What a project will cost in the workshop's currency, from its decals alone.

    12 queries, and one for each printer of its film.
    """
    return _reckoned(project, _Reckoner(moment, example=project.example))


def _reckoned(project: Project, reckoner: _Reckoner) -> Cost:
    ledger = Ledger()
    decals = list(project.decals.select_related("artwork", "project"))
    twins = {sort: len(equal) for sort, equal in twins_together(decals).items()}
    for decal in decals:
        ledger.parts += reckoner.decal(decal, twins, overcoat=project.overcoat)
    return ledger.cost(reckoner.rates.currency, tell_others=True)


def keep_before_printing(*, sheet: Sheet, moment: datetime) -> None:
    """Keep the estimates of the projects whose work begins with the print of this sheet.

    Those of which something is printed already keep theirs. Fourteen queries, one for each printer
    of the film, and three for each project.
    """
    there = list(Project.objects.filter(decals__pieces__sheet=sheet).distinct())
    printed = Project.objects.filter(
        pk__in=[project.pk for project in there],
        decals__pieces__sheet__printed_at__isnull=False,
    )
    begun = set(printed.values_list("pk", flat=True))
    reckoner = _Reckoner(moment, example=sheet.example)
    for project in there:
        if project.pk not in begun:
            _keep(project, _reckoned(project, reckoner), moment)


def _keep(project: Project, cost: Cost, moment: datetime) -> None:
    """Keep what a project is expected to cost, in place of what was kept of it before."""
    lines = [[line.words, line.reckoning, str(line.amount)] for line in cost.lines]
    KeptEstimate.objects.update_or_create(
        project=project,
        defaults={
            "made_at": moment,
            "currency": cost.currency,
            "total": cost.total,
            "lines": lines,
            "missing": list(cost.missing),
        },
    )


def kept_cost(project: Project) -> tuple[datetime, Cost] | None:
    """What was expected before the work began, and when; None where nothing was kept."""
    kept = KeptEstimate.objects.filter(project=project).first()
    if kept is None:
        return None
    lines = tuple(CostLine(words, how, Decimal(amount)) for words, how, amount in kept.lines)
    return kept.made_at, Cost(kept.currency, lines, tuple(kept.missing))


@dataclass(frozen=True)
class CostCompared:
    """What was estimated and what it has cost so far, in the estimate's currency."""

    currency: str
    before: Decimal
    so_far: Decimal

    @property
    def words(self) -> str:
        """How the two stand to each other."""
        over = self.so_far - self.before
        if not over:
            return "just as estimated"
        return f"{abs(over)} {self.currency} {'more' if over > 0 else 'less'} than estimated"


def compared(before: Cost, costs: Iterable[Cost]) -> CostCompared | None:
    """An estimate beside the costs in its currency; None while either is nothing."""
    same = [cost for cost in costs if cost.currency == before.currency and cost.lines]
    if not same or not before.lines:
        return None
    return CostCompared(before.currency, before.total, same[0].total)


class _Reckoner:
    """What one decal takes, by what is known of prices, amounts, minutes and success."""

    def __init__(self, moment: datetime, *, example: bool) -> None:
        self.moment = moment
        self.prices = Prices()
        self.steps = steps_by_layer()
        self.minutes = {doing: taken.minutes for doing, taken in minutes_taken().items()}
        self.rates = Rates()
        kept = Supply.objects.kept().filter(example=example)
        uses = SupplyUse.objects.filter(supply__in=kept).select_related("supply")
        self.uses = list(uses)
        films = usual_films().items()
        self.films = {film: supply for (film, is_example), supply in films if is_example == example}
        printers = {supply.printer for supply in self.films.values()}
        self.coats = {printer: Sheet.objects.usual_sealing(printer)[1] for printer in printers}

    def decal(self, decal: Decal, twins: Mapping[Sort, int], *, overcoat: bool) -> Iterable[UsedUp]:
        for layer in LAYERS[Build(decal.build)]:
            yield from self._layer(decal, layer, twins[sort_of(decal, layer)])
        if overcoat:
            yield from self._doing(decal, Doing.OVERCOAT, Decimal(1))

    def _layer(self, decal: Decal, layer: Layer, twins: int) -> Iterable[UsedUp]:
        film = self.films.get(layer.film)
        share, coats = Decimal(0), 0
        if film and film.width_mm and film.height_mm:
            area = film_wanted(decal, copies_each(twins, *self.steps[layer]))
            share = Decimal(repr(area)) / (film.width_mm * film.height_mm)
            coats = self.coats[film.printer]
        price = self.prices.at(film.pk, self.moment) if film else None
        yield UsedUp(decal.pk, f"{layer.film.capitalize()} film", "sheet", share, price)
        yield from self._doing(decal, Doing.PRINT, share)
        yield from self._doing(decal, Doing.COAT, share * coats)
        # What is spoiled under the knife or on the model is laid again.
        *_, laying = self.steps[layer]
        layings = 1 / Decimal(repr(laying.success.mean))
        yield from self._doing(decal, LAYING[layer], layings)

    def _doing(self, decal: Decal, doing: Doing, times: Decimal) -> Iterable[UsedUp]:
        for use in self.uses:
            if use.doing == doing.value:
                price = self.prices.at(use.supply_id, self.moment)
                amount = use.amount * times
                yield UsedUp(decal.pk, str(use.supply), use.supply.unit, amount, price)
        if self.rates.now.amount:
            yield UsedUp(decal.pk, BENCH_TIME, "min", self.minutes[doing] * times, self.rates.now)


def film_wanted(decal: Decal, copies: float) -> float:
    """The area of film for copies of one layer of a decal, gaps and waste included, mm²."""
    edge = 2 * EDGE_MM + GAP
    art = decal.artwork
    return (float(art.width_mm) + edge) * (float(art.height_mm) + edge) * copies / FILLED
