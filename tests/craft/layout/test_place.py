"""Where a piece lies: turns are told by turning its corners about the sheet's own axes."""

import numpy as np
import pytest

from decaljobs.craft.layout.place import QUARTERS, Place


def turned(corners, degrees):
    """Corners turned anticlockwise as seen, y downwards, by the usual matrix of a turn."""
    angle = np.deg2rad(-degrees)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return np.asarray(corners) @ turn.T


@pytest.mark.parametrize("degrees", QUARTERS)
def test_the_pictures_own_corner_and_size_are_found_from_where_it_lies(degrees):
    wide, high = 12.0, 5.0
    corners = turned([(0, 0), (wide, 0), (wide, high), (0, high)], degrees)
    left, top = corners.min(axis=0)
    right, foot = corners.max(axis=0)
    place = Place(30.0, 40.0, right - left, foot - top, degrees)
    assert place.upright == pytest.approx((wide, high))
    assert place.start == pytest.approx((30 - left, 40 - top))
    assert (place.right, place.foot) == pytest.approx((30 + right - left, 40 + foot - top))
