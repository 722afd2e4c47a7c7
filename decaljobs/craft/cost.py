"""What decals cost: film by area, what was used up, and minutes at the bench.

Money is Decimal. Every line is rounded to the hundredth, half up, and a total is the sum of its
rounded lines, so that what is printed adds up.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

HUNDREDTH = Decimal("0.01")
ZERO = Decimal(0)
Box = tuple[float, float]


def rounded(amount: Decimal) -> Decimal:
    """An amount of money to the hundredth, half up.

    >>> rounded(Decimal("2.345"))
    Decimal('2.35')
    """
    return amount.quantize(HUNDREDTH, rounding=ROUND_HALF_UP)


@dataclass(frozen=True)
class FilmAccount:
    """Where the area of one opened sheet went, mm²; the four add up to the sheet."""

    pieces: float
    gaps: float
    offcuts: float
    waste: float

    @property
    def whole(self) -> float:
        return self.pieces + self.gaps + self.offcuts + self.waste


def film_account(
    sheet: Box, pieces: Iterable[Box], offcuts: Iterable[Box] = (), *, gap: float = 0.0
) -> FilmAccount:
    """Pieces, the gaps that belong to them, offcuts kept and waste of one sheet, mm².

    sheet, pieces, offcuts: width and height in mm. A piece has a strip of ``gap`` mm at two of its
    sides. ValueError where pieces and offcuts are more than the sheet (by 1 mm² or more).

    >>> film_account((210, 297), [(50, 40)] * 10, [(210, 100)], gap=3)
    FilmAccount(pieces=20000.0, gaps=2790.0, offcuts=21000.0, waste=18580.0)
    """
    whole = float(sheet[0] * sheet[1])
    boxes = list(pieces)
    used = float(sum(width * height for width, height in boxes))
    kept = float(sum(width * height for width, height in offcuts))
    left = whole - used - kept
    if left <= -1:
        raise ValueError(f"pieces and offcuts take {used + kept:.0f} mm² of {whole:.0f}")
    wanted = sum((width + gap) * (height + gap) for width, height in boxes) - used
    gaps = min(max(left, 0.0), wanted)
    return FilmAccount(used, gaps, kept, left - gaps)


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
