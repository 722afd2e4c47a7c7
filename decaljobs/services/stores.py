"""What lies in the stores: how much, how old, what runs low, and what the plan will need."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db.models import QuerySet, Sum
from django.utils import timezone

from decaljobs.craft.doings import Doing
from decaljobs.craft.stock import Entry, keeps_until, stock_after
from decaljobs.models import BenchPlan, StockLine, Supply, SupplyUse

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
    good_until: date | None
    today: date
    lines: tuple[StockLine, ...] = field(default=(), repr=False)

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
    """Every supply still kept, with its stock, its age and what the plan needs (four queries)."""
    wanted = supplies if supplies is not None else Supply.objects.filter(gone_at=None)
    found = list(wanted)
    counts = _last_counts(found)
    totals = _totals_since(found, counts)
    needs = needed_by_plan()
    ages = _ages(found)
    today = timezone.localdate(moment)
    return [
        Held(
            supply,
            stock_after(_entries(counts.get(supply.pk), totals.get(supply.pk, {}))),
            needs.get(supply.pk, Decimal(0)),
            _good_until(supply, ages.get(supply.pk, ())),
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


def _entries(count: StockLine | None, totals: Mapping[str, Decimal]) -> list[Entry]:
    start = [Entry(Kind.COUNTED, count.amount)] if count else []
    return [*start, *(Entry(kind, amount) for kind, amount in totals.items())]


def needed_by_plan() -> dict[int, Decimal]:
    """What the tasks of the newest plan will use up, by supply (two queries)."""
    plan = BenchPlan.objects.made().first()
    jobs: dict[str, int] = {}
    for session in plan.found.get("sessions", ()) if plan else ():
        for task in session["tasks"]:
            # A layer is used up decal by decal, a coat or a print sheet by sheet.
            times = 1 if task["sheet"] else max(1, len(task["decals"]))
            jobs[task["doing"]] = jobs.get(task["doing"], 0) + times
    needs: dict[int, Decimal] = {}
    for use in SupplyUse.objects.all():
        if use.doing in jobs:
            times = jobs[use.doing]
            needs[use.supply_id] = needs.get(use.supply_id, Decimal(0)) + use.amount * times
    return needs


def _ages(supplies: Iterable[Supply]) -> dict[int, list[StockLine]]:
    """The newest purchase and the newest opening of each supply."""
    lines = StockLine.objects.in_force().filter(
        supply__in=supplies, kind__in=[Kind.BOUGHT, Kind.OPENED]
    )
    newest: dict[tuple[int, str], StockLine] = {
        (line.supply_id, line.kind): line for line in lines.order_by("at", "pk")
    }
    ages: dict[int, list[StockLine]] = {}
    for (supply, _), line in newest.items():
        ages.setdefault(supply, []).append(line)
    return ages


def _good_until(supply: Supply, lines: Iterable[StockLine]) -> date | None:
    bought = next((line for line in lines if line.kind == Kind.BOUGHT), None)
    opened = next((line for line in lines if line.kind == Kind.OPENED), None)
    if bought is None and opened is None:
        return None
    first = bought or opened
    assert first is not None  # noqa: S101 (for the type checker: one of the two is there)
    return keeps_until(
        timezone.localdate(first.at),
        best_before=bought.best_before if bought else None,
        keeps_days=supply.keeps_days if bought else None,
        opened=timezone.localdate(opened.at) if opened else None,
        opened_days=supply.opened_days,
    )


def used_in_doing(doing: Doing) -> list[SupplyUse]:
    """What one kind of work uses up each time."""
    return list(SupplyUse.objects.filter(doing=doing.value).select_related("supply"))
