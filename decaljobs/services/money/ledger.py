"""What decals have used or will use, each thing at its price, added up to a cost."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TypeVar

from decaljobs.craft.stores.cost import Cost, cost_line
from decaljobs.services.money.prices import UnitPrice

Key = TypeVar("Key")


@dataclass(frozen=True)
class UsedUp:
    """So much of something that a decal has used, and what one unit of it costs."""

    decal: int
    words: str
    unit: str
    quantity: Decimal
    price: UnitPrice | None


@dataclass
class Ledger:
    """Everything that some decals have used."""

    parts: list[UsedUp] = field(default_factory=list)

    def cost(self, currency: str, *, tell_others: bool = False) -> Cost:
        """The cost in one currency, a line for each thing at each price.

        What has no price is told as missing; with tell_others so is what was paid for otherwise.
        """
        sums: dict[tuple[str, str, Decimal], Decimal] = {}
        missing: dict[str, None] = {}
        for part in self.parts:
            if part.price is None:
                missing[part.words] = None
            elif part.price.currency == currency:
                key = (part.words, part.unit, part.price.amount)
                sums[key] = sums.get(key, Decimal(0)) + part.quantity
            elif tell_others:
                missing[f"{part.words} (paid for in {part.price.currency})"] = None
        ordered = sorted(sums.items(), key=lambda item: _rank(item[0][1]))
        lines = tuple(cost_line(*key, quantity) for key, quantity in ordered)
        return Cost(currency, lines, tuple(missing))

    def by(self, whose: Callable[[int], Key]) -> defaultdict[Key, Ledger]:
        """The same, parted by what each decal belongs to; what nothing was used for is empty."""
        parted: defaultdict[Key, Ledger] = defaultdict(Ledger)
        for part in self.parts:
            parted[whose(part.decal)].parts.append(part)
        return parted

    def costs(self, otherwise: str) -> list[Cost]:
        """The cost in each currency that something was paid in; in another where in none."""
        return [self.cost(currency) for currency in self.currencies or [otherwise]]

    @property
    def currencies(self) -> list[str]:
        """Every currency that something was paid in."""
        return sorted({part.price.currency for part in self.parts if part.price})


def _rank(unit: str) -> int:
    """Film stands first, what is used up after it, bench time last."""
    return {"cm²": 0, "sheet": 0, "min": 2}.get(unit, 1)
