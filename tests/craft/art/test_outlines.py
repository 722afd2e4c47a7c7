"""Shapes from rings: areas by hand."""

import pytest

from decaljobs.craft.art.outlines import shape_within


def ring(left, top, width, height):
    right, foot = left + width, top + height
    return [(left, top), (right, top), (right, foot), (left, foot)]


@pytest.mark.parametrize(
    ("rings", "area"),
    [
        ([], 0),
        ([[(0, 0), (4, 0)]], 0),
        ([ring(0, 0, 4, 3)], 12),
        # a hole, an island in it, and a piece beside: outline and hole are two rings
        (
            [ring(0, 0, 9, 9), ring(1, 1, 6, 6), ring(2, 2, 2, 2), ring(20, 0, 1, 1)],
            81 - 36 + 4 + 1,
        ),
        # two that cross: what both hold counts for neither, and each is left as an L of 12 mm²
        ([ring(0, 0, 4, 4), ring(2, 2, 4, 4)], 24),
        # one that crosses itself
        ([[(0, 0), (2, 2), (2, 0), (0, 2)]], 2),
    ],
)
def test_what_lies_inside_an_odd_number_of_rings_counts(rings, area):
    assert shape_within(rings).area == pytest.approx(area)
