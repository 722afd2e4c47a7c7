"""Air as it was read at moments, for tests that think in those."""

import numpy as np

from decaljobs.craft.room.air import Air


def air_through(readings, **days) -> Air:
    """Air through readings of (aware moment, °C, %RH); `before` and `after` as for the arrays."""
    rows = [(moment.timestamp(), *figures) for moment, *figures in readings]
    return Air.from_arrays(*np.array(rows, dtype=float).reshape(-1, 3).T, **days)
