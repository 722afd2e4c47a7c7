"""The kinds of arrays that the craft counts with, and the check that all of one lies in a range."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Numbers = NDArray[np.float64]
Flags = NDArray[np.bool_]
#: Bytes of a picture, 0 to 255, (rows, columns, layers).
Pixels = NDArray[np.uint8]


def within(values: ArrayLike, low: float, high: float, what: str, unit: str = "") -> Numbers:
    """Values of any shape, each from `low` to `high`, as an array in the unit given.

    Raises ValueError with the range for a value outside it or that is not a number.

    >>> within([18, 20], -40, 60, "temperature", "°C").tolist()
    [18.0, 20.0]
    >>> within(np.nan, 0, 255, "an sRGB value")
    Traceback (most recent call last):
    ValueError: an sRGB value must be 0 to 255
    """
    numbers = np.asarray(values, dtype=np.float64)
    # Written so that a value that is not a number fails too.
    if not np.all((numbers >= low) & (numbers <= high)):
        raise ValueError(f"{what} must be {low:g} to {high:g} {unit}".rstrip())
    return numbers
