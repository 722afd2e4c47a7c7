"""What the stores hold: kinds of supply and the units they are counted in."""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum

from decaljobs.craft.doings import Doing


class SupplyKind(StrEnum):
    """What a supply is.

    >>> SupplyKind.FILM.unit
    'sheet'
    """

    FILM = "film"
    SEALER = "sealer"
    FLUID = "fluid"
    BLADE = "blade"
    INK = "ink"
    OTHER = "other"

    @property
    def words(self) -> str:
        """As the stores say it."""
        return self.value

    @property
    def unit(self) -> str:
        """What it is counted in."""
        return _UNITS[self]

    @property
    def counted_in(self) -> str:
        """The same in the plural: 'sheets', 'ml'.

        >>> SupplyKind.BLADE.counted_in
        'pieces'
        """
        return self.unit if self.unit == "ml" else f"{self.unit}s"


_UNITS = {
    SupplyKind.FILM: "sheet",
    SupplyKind.SEALER: "ml",
    SupplyKind.FLUID: "ml",
    SupplyKind.BLADE: "piece",
    SupplyKind.INK: "ml",
    SupplyKind.OTHER: "piece",
}


#: The work that may use up a kind of supply, and how much of it each time (common practice, no
#: source); None where it varies too much to be guessed.
USES: dict[SupplyKind, dict[Doing, Decimal | None]] = {
    SupplyKind.FILM: {},
    SupplyKind.SEALER: {Doing.COAT: Decimal(4), Doing.OVERCOAT: None},
    SupplyKind.FLUID: {Doing.BASE: Decimal("0.5"), Doing.CLEAR: Decimal("0.5")},
    SupplyKind.BLADE: {Doing.BASE: Decimal("0.2"), Doing.CLEAR: Decimal("0.2")},
    SupplyKind.INK: {Doing.PRINT: Decimal(1)},
    SupplyKind.OTHER: dict.fromkeys(
        (Doing.PRINT, Doing.COAT, Doing.BASE, Doing.CLEAR, Doing.OVERCOAT)
    ),
}
#: Days that a kind keeps from its purchase, and once opened (common practice, no source): old
#: film yellows and turns brittle, an opened sealer skins.
KEEPS_DAYS = {SupplyKind.FILM: 730}
OPENED_DAYS = {SupplyKind.SEALER: 180}


def amount_in_words(amount: Decimal, unit: str) -> str:
    """An amount as it is said, to a thousandth: '14.5 ml', '1 sheet', '8 sheets'.

    >>> amount_in_words(Decimal("8.000"), "sheet"), amount_in_words(Decimal("14.50"), "ml")
    ('8 sheets', '14.5 ml')
    """
    number = f"{amount.quantize(Decimal('0.001')).normalize():f}"
    counted = unit in ("sheet", "piece") and number != "1"
    return f"{number} {unit}{'s' if counted else ''}"
