"""Figures in words: cut or rounded so that they never say more than is so."""

import math
from decimal import Decimal


def short(value: float | Decimal, decimals: int = 2) -> str:
    """A figure rounded to so many decimals, at least one, without idle zeros or a zero's minus.

    >>> short(12.0), short(7.504), short(100.04, 1), short(-0.001)
    ('12', '7.5', '100', '0')
    """
    return f"{value:z.{decimals}f}".rstrip("0").rstrip(".")


def counted(number: int, one: str, many: str = "") -> str:
    """So many things in words; many: what several are called where that is not one and an s.

    >>> counted(1, "piece"), counted(3, "piece"), counted(2, "copy", "copies")
    ('1 piece', '3 pieces', '2 copies')
    """
    return f"{number} {one if number == 1 else many or f'{one}s'}"


def cut_tenths(value: float) -> str:
    """A figure cut, not rounded, to a tenth, so that 11.96 of 12 never reads as 12 of 12.

    >>> cut_tenths(11.96), cut_tenths(12.0)
    ('11.9', '12')
    """
    return f"{math.floor(value * 10.0 + 1e-6) / 10.0:g}"


def raised_tenths(value: float) -> str:
    """A figure raised, not rounded, to a tenth, so that 85.04 never reads as the 85 it is above.

    >>> raised_tenths(85.04), raised_tenths(86.0)
    ('85.1', '86')
    """
    return f"{math.ceil(value * 10.0 - 1e-6) / 10.0:g}"


def whole_percent(share: float) -> str:
    """A share from 0 to 1 as whole percents, never rounded up to certainty nor down to none.

    >>> [whole_percent(share) for share in (0.904, 0.9996, 1.0, 0.004, 0.0)]
    ['90 %', '99 %', '100 %', 'under 1 %', '0 %']
    """
    if 0 < share < 0.01:
        return "under 1 %"
    return f"{min(int(share * 100 + 0.5), 99 if share < 1 else 100)} %"


def told_chance(chance: float) -> float:
    """A computed chance from 0 to 1 as it is told: to the thousandth, and never certain.

    >>> told_chance(0.94981), told_chance(0.9998)
    (0.95, 0.999)
    """
    return min(round(chance, 3), 0.999)
