"""What the library nested, made shorter: the way from its coordinates and back."""

from itertools import count
from math import cos, pi, sin

import pytest
from shapely import Polygon
from shapely.affinity import rotate, translate

from decaljobs.services.squeeze.nesting import closest
from decaljobs.services.squeeze.parts import OutlinePiece, placement
from decaljobs.services.squeeze.shortening import can_be_shortened, rearranged_strip, shortened

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


def test_a_strip_of_boxes_and_nested_pieces_is_made_shorter_as_one():
    """Bars at the foot, a disc after them; beside the bars is room for it."""
    pieces = [OutlinePiece("disc", tuple(DISC), 1), OutlinePiece("flag", tuple(FLAG), 2, False)]
    shapes = [Polygon(piece.outline) for piece in pieces]
    lying = [(1, 0, 0), (1, 0, 13), (0, 0, 26)]
    strip = [
        placement(pieces[number].name, 0, translate(shapes[number], *_to(shapes[number], x, y)))
        for number, x, y in lying
    ]
    asked = count()
    found = rearranged_strip(
        pieces, shapes, strip, gap=3, width=60, over=lambda: next(asked) >= 120
    )
    assert max(placed.y + placed.height for placed in found) == pytest.approx(23, abs=0.1)
    assert sorted((placed.name, placed.degrees) for placed in found) == [
        ("disc", 0),
        ("flag", 0),
        ("flag", 0),
    ]
    assert closest(found, 3) >= 2.99
    for placed in found:
        assert Polygon(placed.outline).bounds[:2] == pytest.approx((placed.x, placed.y))
        assert -0.001 <= placed.x <= 60.001 - placed.width


def _to(shape, x, y):
    return x - shape.bounds[0], y - shape.bounds[1]
