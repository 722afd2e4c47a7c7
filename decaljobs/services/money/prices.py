"""What supplies cost a unit, by what was paid for them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from decaljobs.models import StockLine


@dataclass(frozen=True)
class UnitPrice:
    """What one unit of a supply cost, in the currency of its purchase."""

    amount: Decimal
    currency: str


class Prices:
    """The purchases of some supplies, read once (one query)."""

    def __init__(self, supplies: Iterable[int] | None = None) -> None:
        lines = StockLine.objects.in_force().filter(kind=StockLine.Kind.BOUGHT, price__isnull=False)
        if supplies is not None:
            lines = lines.filter(supply__in=supplies)
        self._bought: dict[int, list[StockLine]] = {}
        for line in lines.filter(amount__gt=0).order_by("at", "pk"):
            self._bought.setdefault(line.supply_id, []).append(line)

    def at(self, supply: int, moment: datetime) -> UnitPrice | None:
        """The price of the last purchase before a moment, of the first if there was none yet."""
        bought = self._bought.get(supply, [])
        before = [line for line in bought if line.at <= moment]
        line = before[-1] if before else next(iter(bought), None)
        if line is None or line.price is None:
            return None
        return UnitPrice(line.price / line.amount, line.currency)
