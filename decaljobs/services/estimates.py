"""What a project will cost, before its work has begun: copies to spare included."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal

from decaljobs.craft.copies import copies_to_print
from decaljobs.craft.cost import Cost
from decaljobs.craft.doings import Doing
from decaljobs.craft.stages import LAYERS, Build, Layer
from decaljobs.models import Decal, Project, Supply, SupplyUse
from decaljobs.services.benchminutes import minutes_taken
from decaljobs.services.copies import success_by_layer
from decaljobs.services.costs import EDGE_MM, Ledger, Part
from decaljobs.services.prices import Prices, UnitPrice
from decaljobs.services.rates import rules

#: Gap between pieces, mm, and the share of a sheet that a layout fills (a choice; layouts of
#: forty pieces and more have been measured to fill 97 %, a last sheet is rarely full).
GAP_MM, FILLED = 3.0, 0.85
#: Sealing coats on a sheet until one is made (common practice, no source).
COATS = 4
LAID = {Layer.BASE: Doing.BASE, Layer.CLEAR: Doing.CLEAR}


def estimate(project: Project, *, moment: datetime) -> Cost:
    """What a project will cost in the workshop's currency, from its decals alone."""
    ledger = Ledger()
    reckoner = _Reckoner(moment, example=project.example)
    for decal in project.decals.select_related("artwork"):
        ledger.parts += reckoner.decal(decal, overcoat=project.overcoat)
    return ledger.cost(rules().currency)


class _Reckoner:
    """What one decal takes, by what is known of prices, amounts, minutes and success."""

    def __init__(self, moment: datetime, *, example: bool) -> None:
        self.moment = moment
        self.prices = Prices()
        success = success_by_layer()
        self.copies = {layer: copies_to_print(1, success[layer]).copies for layer in Layer}
        self.minutes = {doing: taken.minutes for doing, taken in minutes_taken().items()}
        self.rate = UnitPrice(rules().hourly_rate / 60, rules().currency)
        self.uses = list(
            SupplyUse.objects.filter(supply__gone_at=None, supply__example=example).select_related(
                "supply"
            )
        )
        films = Supply.objects.filter(kind="film", gone_at=None, example=example)
        self.films = {supply.film: supply for supply in films.order_by("-pk")}

    def decal(self, decal: Decal, *, overcoat: bool) -> Iterable[Part]:
        for layer in LAYERS[Build(decal.build)]:
            yield from self._layer(decal, layer)
        if overcoat:
            yield from self._doing(decal, Doing.OVERCOAT, Decimal(1))

    def _layer(self, decal: Decal, layer: Layer) -> Iterable[Part]:
        edge = 2 * EDGE_MM + GAP_MM
        art = decal.artwork
        area = (float(art.width_mm) + edge) * (float(art.height_mm) + edge)
        area *= self.copies[layer] / FILLED
        film = self.films.get("white" if layer is Layer.BASE else "clear")
        words = f"{'White' if layer is Layer.BASE else 'Clear'} film"
        price = self.prices.at(film.pk, self.moment) if film else None
        share = Decimal(0)
        if film and film.width_mm and film.height_mm:
            share = Decimal(repr(area)) / (film.width_mm * film.height_mm)
        yield Part(decal.pk, words, "sheet", share, price)
        yield from self._doing(decal, Doing.PRINT, share)
        yield from self._doing(decal, Doing.COAT, share * COATS)
        yield from self._doing(decal, LAID[layer], Decimal(1))

    def _doing(self, decal: Decal, doing: Doing, times: Decimal) -> Iterable[Part]:
        for use in self.uses:
            if use.doing == doing.value:
                price = self.prices.at(use.supply_id, self.moment)
                amount = use.amount * times
                yield Part(decal.pk, str(use.supply), use.supply.unit, amount, price)
        if self.rate.amount:
            yield Part(decal.pk, "Bench time", "min", self.minutes[doing] * times, self.rate)
