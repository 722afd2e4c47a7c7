"""A panel at true size on paper: turned or divided where no page holds it. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from decaljobs.craft.units import check_sizes


@dataclass(frozen=True)
class PagePart:
    """What one page shows of a panel: from left, below, in mm from the lower left corner.

    column and row count from 1, from the left and from below.
    """

    column: int
    row: int
    left: float
    below: float
    width: float
    height: float


@dataclass(frozen=True)
class PageDivision:
    """How a panel lies on paper: a quarter turned or not, and its parts, upper row first."""

    turned: bool
    columns: int
    rows: int
    parts: tuple[PagePart, ...]


def divide(width: float, height: float, room_width: float, room_height: float) -> PageDivision:
    """How a panel (mm) is printed at true size in a room (mm) on each page.

    Upright where that takes no more pages than turned a quarter; a turned panel is divided
    into parts of its own upright measures. The parts of a row or column are equally large.
    Raises ValueError unless all sizes are more than 0 mm.

    >>> divide(120, 40, 170, 200).parts
    (PagePart(column=1, row=1, left=0.0, below=0.0, width=120.0, height=40.0),)
    >>> divide(190, 40, 170, 200).turned
    True
    >>> [(part.column, part.left, part.width) for part in divide(300, 180, 170, 200).parts]
    [(1, 0.0, 150.0), (2, 150.0, 150.0)]
    """
    check_sizes("Sizes", width, height, room_width, room_height)
    upright = (_count(width, room_width), _count(height, room_height))
    turned = (_count(width, room_height), _count(height, room_width))
    quarter = turned[0] * turned[1] < upright[0] * upright[1]
    columns, rows = turned if quarter else upright
    wide, high = width / columns, height / rows
    parts = tuple(
        PagePart(column + 1, row + 1, column * wide, row * high, wide, high)
        for row in reversed(range(rows))
        for column in range(columns)
    )
    return PageDivision(quarter, columns, rows, parts)


def _count(side: float, room: float) -> int:
    # A hair is left to the rounding of sums, or 170 mm would not fit in 170 mm.
    return max(1, ceil(side / room - 1e-9))
