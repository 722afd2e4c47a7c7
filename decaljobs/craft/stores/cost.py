"""What decals cost: film by area, what was used up, and minutes at the bench.

Money is Decimal. Every line is rounded to the hundredth, half up, and a total is the sum of its
rounded lines, so that what is printed adds up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

HUNDREDTH = Decimal("0.01")
ZERO = Decimal(0)


def rounded(amount: Decimal) -> Decimal:
    """An amount of money to the hundredth, half up.

    >>> rounded(Decimal("2.345"))
    Decimal('2.35')
    """
    return amount.quantize(HUNDREDTH, rounding=ROUND_HALF_UP)


@dataclass(frozen=True)
class CostLine:
    """One line of a cost: its words, how it was reckoned, and the rounded amount."""

    words: str
    reckoning: str
    amount: Decimal


@dataclass(frozen=True)
class Cost:
    """The lines of a cost in one currency; missing names what has no price."""

    currency: str
    lines: tuple[CostLine, ...]
    missing: tuple[str, ...] = ()

    @property
    def total(self) -> Decimal:
        """The sum of the rounded lines."""
        return sum((line.amount for line in self.lines), ZERO)


def film_line(film: str, area_mm2: float, sheet_mm2: float, price: Decimal) -> CostLine:
    """What an area of film costs at the price of a whole sheet.

    >>> film_line("White film", 6237.0, 62370.0, Decimal("2.50")).amount
    Decimal('0.25')
    """
    share = Decimal(repr(area_mm2)) / Decimal(repr(sheet_mm2))
    reckoning = f"{area_mm2 / 100:.1f} cm² of a sheet at {price:.2f}"
    return CostLine(film, reckoning, rounded(share * price))


def used_line(supply: str, amount: Decimal, unit: str, unit_price: Decimal) -> CostLine:
    """What an amount of a supply costs.

    >>> used_line("Setting fluid", Decimal("1.5"), "ml", Decimal("0.13")).amount
    Decimal('0.20')
    """
    reckoning = f"{amount.normalize():f} {unit} at {unit_price:.4f}"
    return CostLine(supply, reckoning, rounded(amount * unit_price))


def work_line(words: str, minutes: float, rate: Decimal) -> CostLine:
    """What minutes at the bench cost at a rate for the hour.

    >>> work_line("Laying", 45, Decimal("24")).amount
    Decimal('18.00')
    """
    hours = Decimal(repr(float(minutes))) / 60
    return CostLine(words, f"{minutes:.0f} min at {rate:.2f} an hour", rounded(hours * rate))


def shared_out(total: float, weights: Sequence[float]) -> list[float]:
    """A total divided by weight; equally where all weigh nothing.

    >>> shared_out(10, [1, 3])
    [2.5, 7.5]
    """
    whole = sum(weights)
    if whole <= 0:
        return [total / len(weights)] * len(weights)
    return [total * weight / whole for weight in weights]
