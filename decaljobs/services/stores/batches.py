"""What is left of each purchase, and until when it is good."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.utils import timezone

from decaljobs.craft.stores.stock import StockEntry, keeps_until, left_of, stock_after
from decaljobs.models import StockLine, Supply

Kind = StockLine.Kind


@dataclass(frozen=True)
class Batch:
    """What is left of one purchase; opened says when it was, if it was."""

    bought: StockLine
    left: Decimal
    opened: date | None
    good_until: date | None


def batches_of(supplies: Iterable[Supply], stocks: Mapping[int, Decimal]) -> dict[int, list[Batch]]:
    """The purchases of which something is left, oldest first (one or two queries)."""
    listed = list(supplies)
    lines = StockLine.objects.in_force().filter(supply__in=listed).order_by("at", "pk")
    bought: dict[int, list[StockLine]] = {}
    openings: list[StockLine] = []
    for line in lines.filter(kind__in=[Kind.BOUGHT, Kind.OPENED]):
        of_kind = bought.setdefault(line.supply_id, []) if line.kind == Kind.BOUGHT else openings
        of_kind.append(line)
    opened = _opened(openings, bought)
    return {
        supply.pk: [
            _batch(supply, line, left, opened.get(line.pk))
            for line, left in _left(bought[supply.pk], stocks[supply.pk])
        ]
        for supply in listed
        if supply.pk in bought
    }


def _left(bought: Sequence[StockLine], stock: Decimal) -> list[tuple[StockLine, Decimal]]:
    amounts = left_of([line.amount for line in bought], stock)
    return [(line, left) for line, left in zip(bought, amounts, strict=True) if left > 0]


def _opened(
    openings: Iterable[StockLine], bought: Mapping[int, Sequence[StockLine]]
) -> dict[int, date]:
    """When each purchase was opened: the oldest of which something was left then."""
    listed = [line for line in openings if line.supply_id in bought]
    if not listed:
        return {}
    before: dict[int, list[StockLine]] = {}
    supplies = {line.supply_id for line in listed}
    for line in StockLine.objects.in_force().filter(supply__in=supplies).order_by("at", "pk"):
        before.setdefault(line.supply_id, []).append(line)
    found: dict[int, date] = {}
    for opening in listed:
        until = [line for line in before[opening.supply_id] if (line.at, line.pk) < _place(opening)]
        stock = stock_after(StockEntry(line.kind, line.amount) for line in until)
        there = _left([line for line in until if line.kind == Kind.BOUGHT], stock)
        if there:
            found[there[0][0].pk] = timezone.localdate(opening.at)
    return found


def _place(line: StockLine) -> tuple[object, int]:
    return line.at, line.pk


def _batch(supply: Supply, bought: StockLine, left: Decimal, opened: date | None) -> Batch:
    until = keeps_until(
        timezone.localdate(bought.at),
        best_before=bought.best_before,
        keeps_days=supply.keeps_days,
        opened=opened,
        opened_days=supply.opened_days,
    )
    return Batch(bought, left, opened, until)
