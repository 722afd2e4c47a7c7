"""What is in the stores, from a log of what came, went and was counted."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

ZERO = Decimal(0)
#: What adds to the stock, and what takes from it.
COMES, GOES, COUNTS = frozenset({"bought"}), frozenset({"used", "thrown"}), frozenset({"counted"})


@dataclass(frozen=True)
class StockEntry:
    """One line that stands, of a supply's log: its kind and its amount in the supply's unit."""

    kind: str
    amount: Decimal


def stock_after(entries: Iterable[StockEntry]) -> Decimal:
    """What there should be, in the supply's unit, after lines in order of time.

    A count is taken for what there was. The answer is below 0 where more was used than there was
    known to be: that wants counting, and is not hidden.

    >>> lines = [StockEntry("bought", Decimal(10)), StockEntry("counted", Decimal(6))]
    >>> stock_after([*lines, StockEntry("used", Decimal("0.5"))])
    Decimal('5.5')
    """
    stock = ZERO
    for entry in entries:
        if entry.kind in COUNTS:
            stock = entry.amount
        elif entry.kind in COMES:
            stock += entry.amount
        elif entry.kind in GOES:
            stock -= entry.amount
    return stock


def left_of(purchases: Sequence[Decimal], stock: Decimal) -> list[Decimal]:
    """What is left of each purchase, in the supply's unit, of a stock; oldest first both.

    The oldest is used up first, so that what is there is of the newest. More than was ever bought
    (a count says so) belongs to none.

    >>> left_of([Decimal(10), Decimal(5)], Decimal(7))
    [Decimal('2'), Decimal('5')]
    """
    left: list[Decimal] = []
    for amount in reversed(purchases):
        part = min(amount, max(stock, ZERO))
        left.append(part)
        stock -= part
    return left[::-1]


def keeps_until(
    bought: date,
    *,
    best_before: date | None = None,
    keeps_days: int | None = None,
    opened: date | None = None,
    opened_days: int | None = None,
) -> date | None:
    """The last day on which a supply is good; None where nothing is known.

    The soonest of its own date, so many days from its purchase, and so many from its opening
    (old film yellows and turns brittle, an opened sealer skins: common practice, no source).

    >>> keeps_until(date(2026, 1, 1), keeps_days=730, opened=date(2026, 11, 1), opened_days=90)
    datetime.date(2027, 1, 30)
    """
    days = [best_before] if best_before else []
    if keeps_days is not None:
        days.append(bought + timedelta(days=keeps_days))
    if opened is not None and opened_days is not None:
        days.append(opened + timedelta(days=opened_days))
    return min(days, default=None)
