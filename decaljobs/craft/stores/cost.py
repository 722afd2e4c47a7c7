"""What decals cost: film by area, what was used up, and minutes at the bench.

Money is Decimal. Every line is rounded to the hundredth, half up, and a total is the sum of its
rounded lines, so that what is printed adds up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from decaljobs.craft.stores.supplies import amount_in_words

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


def cost_line(words: str, unit: str, price: Decimal, quantity: Decimal) -> CostLine:
    """What a quantity of something costs at the price of one unit of it.

    unit: as the thing is counted, such as 'sheet' or 'ml'; of 'min' (bench time) the reckoning is
    told by the hour. The words round the quantity to four figures, the amount does not.

    >>> cost_line("Setting fluid", "ml", Decimal("0.24"), Decimal("1.5"))
    CostLine(words='Setting fluid', reckoning='1.5 ml at 0.24', amount=Decimal('0.36'))
    >>> cost_line("Bench time", "min", Decimal("0.4"), Decimal(65)).reckoning
    '1 h 05 min at 24.00 an hour'
    """
    if unit == "min":
        hours, minutes = divmod(int(quantity.quantize(Decimal(1), ROUND_HALF_UP)), 60)
        reckoning = f"{hours} h {minutes:02} min at {rounded(price * 60)} an hour"
    else:
        counted = amount_in_words(Decimal(f"{quantity:.4g}"), unit)
        reckoning = f"{counted} at {price_in_words(price)}"
    return CostLine(words, reckoning, rounded(quantity * price))


def price_in_words(price: Decimal) -> str:
    """A price to four figures, and at least to the hundredth.

    >>> [price_in_words(Decimal(price)) for price in ("1.8", "0.085", "0.00288600")]
    ['1.80', '0.085', '0.002886']
    """
    short = Decimal(f"{price:.4g}").normalize()
    exponent = short.as_tuple().exponent
    fine = isinstance(exponent, int) and exponent < -2
    return f"{short if fine else short.quantize(HUNDREDTH):f}"


def shared_out(total: float, weights: Sequence[float]) -> list[float]:
    """A total divided by weight, each 0 or more; equally where all weigh nothing.

    >>> shared_out(10, [1, 3]), shared_out(10, [])
    ([2.5, 7.5], [])
    """
    whole = sum(weights)
    if not whole:
        return [total / len(weights) for _ in weights]
    return [total * weight / whole for weight in weights]
