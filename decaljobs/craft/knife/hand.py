"""How far one maker's hand strays with the knife and in laying, in mm, and how it is measured."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

# mm; one standard deviation of a practised hand: from memory, to be measured by each maker
KNIFE_SPREAD = LAY_DOWN_SPREAD = 0.15
LEAST_SPREAD, MOST_SPREAD = 0.005, 2.0
# mm outside the art that the clear film is cut: common practice, no source
CLEAR_MARGIN = 1.0
LEAST_MARGIN, MOST_MARGIN = 0.1, 20.0
# mm either way; an offset farther off is a slip of the pen
FARTHEST_OFFSET = 5.0
# readings from a test strip below which a spread says little
FEWEST_OFFSETS = 5


@dataclass(frozen=True)
class Hand:
    """How far one maker strays, one standard deviation in mm (0.005 to 2): knife and lay-down.

    Raises ValueError outside that range.
    """

    knife_mm: float = KNIFE_SPREAD
    lay_down_mm: float = LAY_DOWN_SPREAD

    def __post_init__(self) -> None:
        for value in (self.knife_mm, self.lay_down_mm):
            if not LEAST_SPREAD <= value <= MOST_SPREAD:
                raise ValueError(f"a spread lies from {LEAST_SPREAD:g} to {MOST_SPREAD:g} mm")


def spread_of(offsets: Sequence[float]) -> float:
    """Spread in mm (one standard deviation) from offsets in mm read off a test strip.

    At least 5 offsets of at most 5 mm either way. The line aimed at is known, so offsets are
    taken from it and not from their mean: a hand that always cuts 0.2 mm outside strays too.
    The root mean square of n normal errors of mean 0 estimates their standard deviation
    (maximum likelihood). Never less than 0.005 mm. Raises ValueError otherwise.

    >>> round(spread_of([0.1, -0.1, 0.2, -0.2, 0.0]), 4)
    0.1414
    """
    if len(offsets) < FEWEST_OFFSETS:
        raise ValueError(f"read at least {FEWEST_OFFSETS} offsets off the strip")
    if not all(abs(offset) <= FARTHEST_OFFSET for offset in offsets):
        raise ValueError(f"an offset lies from -{FARTHEST_OFFSET:g} to {FARTHEST_OFFSET:g} mm")
    root = math.sqrt(math.fsum(offset**2 for offset in offsets) / len(offsets))
    return max(LEAST_SPREAD, root)
