"""What the library nested, made shorter: the way from its coordinates and back."""

from itertools import count
from math import cos, pi, sin

import pytest
from shapely import Polygon
from shapely.affinity import rotate, translate

from decaljobs.services.squeeze.shortening import can_be_shortened, shortened

DISC = [(10 + 10 * cos(pi * at / 24), 10 + 10 * sin(pi * at / 24)) for at in range(48)]
FLAG = [(5, 5), (35, 5), (35, 15), (5, 15)]
STEP = [(0, 0), (30, 0), (30, 10), (10, 10), (10, 30), (0, 30)]


def job(*items, width=63.0):
    return {"items": list(items), "width": width, "gap": 3.0, "seed": 0}


def test_only_outlines_that_are_mostly_convex_are_made_shorter():
    assert can_be_shortened([[DISC, 6, [0], DISC], [STEP, 1, [0], STEP]])
    assert not can_be_shortened([[DISC, 1, [0], DISC], [STEP, 6, [0], STEP]])


@pytest.mark.parametrize("turns", [[270, 90, 0, 180], [270], [0, 180]])
def test_a_nesting_comes_back_in_the_coordinates_of_the_library(turns):
    """Its strip runs along x: there all lies inside, the gap apart, and turned as allowed."""
    pieces = {0: Polygon(DISC), 1: Polygon(FLAG)}
    first, step = turns[0], 60
    begun = [[0, 270, at * step, 0.0] for at in range(3)]
    begun += [[1, first, (3 + at) * step, 0.0] for at in range(3)]
    asked, told = count(), []
    shortened(
        job([DISC, 3, [0, 90, 180, 270], DISC], [FLAG, 3, turns, FLAG]),
        {"length": 360.0, "placed": begun},
        over=lambda: next(asked) >= 250,
        better=told.append,
    )
    lengths = [nesting["length"] for nesting in told]
    assert lengths == sorted(lengths, reverse=True)
    assert lengths[-1] < 150
    placed = told[-1]["placed"]
    assert sorted(number for number, *_ in placed) == [0, 0, 0, 1, 1, 1]
    assert {degrees % 360 for number, degrees, *_ in placed if number} <= set(turns)
    shapes = [
        translate(rotate(pieces[number], degrees, origin=(0, 0)), x, y)
        for number, degrees, x, y in placed
    ]
    ends = [shape.bounds for shape in shapes]
    assert max(end[2] for end in ends) - min(end[0] for end in ends) == pytest.approx(
        lengths[-1] - 3, abs=0.01
    )
    assert max(end[3] for end in ends) - min(end[1] for end in ends) <= 60.001
    for at, shape in enumerate(shapes):
        assert all(shape.distance(other) >= 2.995 for other in shapes[:at])
