"""Figures in words: cut or rounded so that they never say more than is so."""

import math


def cut_tenths(value: float) -> str:
    """A figure cut, not rounded, to a tenth, so that 11.96 of 12 never reads as 12 of 12.

    >>> cut_tenths(11.96), cut_tenths(12.0)
    ('11.9', '12')
    """
    return f"{math.floor(value * 10.0 + 1e-6) / 10.0:g}"
