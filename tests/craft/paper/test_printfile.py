"""The strip of band that is printed on white film."""

import pytest
from shapely.geometry import Polygon

from decaljobs.craft.paper.printfile import band_strip


def ring(left, top, width, height):
    right, foot = left + width, top + height
    return [(left, top), (right, top), (right, foot), (left, foot)]


def areas(rings):
    return sorted(Polygon(one).area for one in rings)


def test_nothing_is_printed_inside_the_base_cut_but_the_hands_slack():
    strip = band_strip([ring(0, 0, 20, 10)], [ring(1, 1, 18, 8)], inside=0.5)
    assert areas(strip) == pytest.approx([17 * 7, 200])


def test_a_sheet_of_letters_is_told_at_one_go():
    """Each letter's outline and its hole, none of them near another."""
    letters = [
        one
        for number in range(500)
        for x, y in [(3 * (number % 50), 3 * (number // 50))]
        for one in (ring(x, y, 2, 2), ring(x + 0.5, y + 0.5, 1, 1))
    ]
    strip = band_strip(letters, [])
    assert len(strip) == 1000
    assert sum(areas(strip)) == pytest.approx(500 * (4 + 1))
