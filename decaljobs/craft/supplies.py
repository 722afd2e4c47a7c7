"""What the stores hold: kinds of supply and the units they are counted in."""

from __future__ import annotations

from enum import StrEnum


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
        return self.value

    @property
    def unit(self) -> str:
        """What it is counted in."""
        return _UNITS[self]


_UNITS = {
    SupplyKind.FILM: "sheet",
    SupplyKind.SEALER: "ml",
    SupplyKind.FLUID: "ml",
    SupplyKind.BLADE: "piece",
    SupplyKind.INK: "ml",
    SupplyKind.OTHER: "piece",
}
