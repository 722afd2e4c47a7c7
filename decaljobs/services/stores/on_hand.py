"""What lies in the stores: how much, how old, what runs low, and what the plan will need."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db.models import QuerySet, Sum
from django.utils import timezone

from decaljobs.craft.stores.stock import StockEntry, stock_after
from decaljobs.models import StockLine, Supply
from decaljobs.services.stores.batches import Batch, batches_of
from decaljobs.services.stores.needs import needed

Kind = StockLine.Kind
#: A supply is told of so long before it is no longer good (a choice).
SOON = timedelta(days=30)


@dataclass(frozen=True)
class Held:
    """One supply with what there should be of it.

    stock below 0 means that more was used than was known to be there: it wants counting.
    """

    supply: Supply
    stock: Decimal
    needed: Decimal
    batches: tuple[Batch, ...]
    today: date

    @property
    def good_until(self) -> date | None:
        """When the first of what is left is no longer good; None where nothing is known."""
        ends = [batch.good_until for batch in self.batches if batch.good_until]
        return min(ends, default=None)

    @property
    def wants_counting(self) -> bool:
        return self.stock < 0

    @property
    def is_low(self) -> bool:
        """Whether it is at its mark or below, or is less than the plan will need."""
        return self.stock <= self.supply.low_at or self.stock < self.needed

    @property
    def is_over(self) -> bool:
        return self.good_until is not None and self.good_until < self.today

    @property
    def is_over_soon(self) -> bool:
        return (
            not self.is_over
            and self.good_until is not None
            and self.good_until <= self.today + SOON
        )


def held(*, moment: datetime, supplies: QuerySet[Supply] | None = None) -> list[Held]:
    """Every supply still kept, with its stock, its age and what is needed (11 queries at most)."""
    wanted = supplies if supplies is not None else Supply.objects.kept()
    found = list(wanted)
    counts = _last_counts(found)
    totals = _totals_since(found, counts)
    stocks = {
        supply.pk: stock_after(_entries(counts.get(supply.pk), totals.get(supply.pk, {})))
        for supply in found
    }
    needs = needed()
    batches = batches_of(found, stocks)
    today = timezone.localdate(moment)
    return [
        Held(
            supply,
            stocks[supply.pk],
            needs.get(supply.pk, Decimal(0)),
            tuple(batches.get(supply.pk, ())),
            today,
        )
        for supply in found
    ]


def _last_counts(supplies: Iterable[Supply]) -> dict[int, StockLine]:
    """The last count of each supply that stands."""
    lines = StockLine.objects.in_force().filter(kind=Kind.COUNTED, supply__in=supplies)
    return {line.supply_id: line for line in lines.order_by("at", "pk")}


def _totals_since(
    supplies: Iterable[Supply], counts: Mapping[int, StockLine]
) -> dict[int, dict[str, Decimal]]:
    """What came and went since the last count of each supply, by kind.

    Lines of before the first of these counts are summed up in the database with the others and
    taken off again only where a supply was counted, which few lines are.
    """
    lines = StockLine.objects.in_force().filter(
        supply__in=supplies, kind__in=[Kind.BOUGHT, Kind.USED, Kind.THROWN]
    )
    uncounted = lines.exclude(supply__in=counts).values_list("supply", "kind")
    totals: dict[int, dict[str, Decimal]] = {}
    for supply, kind, amount in uncounted.annotate(Sum("amount")).order_by():
        totals.setdefault(supply, {})[kind] = amount
    since = min((count.at for count in counts.values()), default=None)
    if since is not None:
        counted = lines.filter(supply__in=counts, at__gte=since)
        for supply, kind, amount, at, pk in counted.values_list(
            "supply", "kind", "amount", "at", "pk"
        ):
            if (at, pk) > (counts[supply].at, counts[supply].pk):
                of_supply = totals.setdefault(supply, {})
                of_supply[kind] = of_supply.get(kind, Decimal(0)) + amount
    return totals


def _entries(count: StockLine | None, totals: Mapping[str, Decimal]) -> list[StockEntry]:
    start = [StockEntry(Kind.COUNTED, count.amount)] if count else []
    return [*start, *(StockEntry(kind, amount) for kind, amount in totals.items())]
