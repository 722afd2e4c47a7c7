"""The example's stores: bought some weeks ago, one of them nearly used up."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from decaljobs.craft.doings import Doing
from decaljobs.models import Person, RateLine, StockLine, StoresRules, Supply
from decaljobs.services.money.rates import change_rules, rules
from decaljobs.services.stores import stock, supplies

BOUGHT_DAYS_AGO = 40


@dataclass(frozen=True)
class Bought:
    """One supply of the example: what was bought of it, and what work uses up each time."""

    name: str
    amount: int
    price: str
    fields: dict[str, Any]
    uses: dict[Doing, str] = field(default_factory=dict)
    batch: str = ""


def _film(film: str, printer: str) -> dict[str, Any]:
    return {
        "kind": "film",
        "film": film,
        "printer": printer,
        "width_mm": 210,
        "height_mm": 297,
        "low_at": 3,
        "keeps_days": 730,
    }


_LAYERS = (Doing.BASE, Doing.CLEAR)
SUPPLIES = (
    Bought("White film, inkjet", 10, "18.00", _film("white", "inkjet"), batch="K 41"),
    Bought("Clear film, inkjet", 10, "15.00", _film("clear", "inkjet"), batch="K 38"),
    Bought("White film, laser", 5, "11.00", _film("white", "laser")),
    Bought("Clear film, laser", 5, "9.00", _film("clear", "laser")),
    Bought(
        "Water-borne gloss",
        100,
        "8.50",
        {"kind": "sealer", "sealer": "water", "low_at": 40, "opened_days": 180},
        {Doing.COAT: "4"},
    ),
    Bought(
        "Setting fluid",
        25,
        "6.00",
        {"kind": "fluid", "low_at": 20},
        dict.fromkeys(_LAYERS, "0.5"),
    ),
    Bought(
        "Scalpel blades",
        50,
        "9.50",
        {"kind": "blade", "low_at": 5},
        dict.fromkeys(_LAYERS, "0.2"),
    ),
)


#: The example's rate for an hour, where the workshop has none yet.
RATE = Decimal("18.00")


def load_stores(*, maker: Person, moment: datetime) -> None:
    """Put the example's supplies in, as they were bought before its work began."""
    bought = moment - timedelta(days=BOUGHT_DAYS_AGO)
    money = rules()
    if not money.hourly_rate:
        change_rules(currency=money.currency, hourly_rate=RATE, moment=bought)
    for plan in SUPPLIES:
        supply = supplies.keep_supply(
            supply=Supply(name=plan.name, example=True, **plan.fields),
            uses={doing: Decimal(each) for doing, each in plan.uses.items()},
        )
        stock.buy(
            supply=supply,
            amount=Decimal(plan.amount),
            price=Decimal(plan.price),
            by=maker,
            moment=bought,
            batch=plan.batch,
        )


def clear_stores() -> None:
    """Remove the example's supplies and their log, and its rate where nobody changed it."""
    lines = StockLine.objects.filter(supply__example=True)
    lines.filter(undoes__isnull=False).delete()
    lines.delete()
    Supply.objects.filter(example=True).delete()
    if not RateLine.objects.exists():
        StoresRules.objects.filter(hourly_rate=RATE).update(hourly_rate=0)
