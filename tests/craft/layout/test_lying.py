"""Outlines in convex parts, and the pairs of them that lie near each other."""

from math import cos, hypot, pi, sin, sqrt

import numpy as np
import pytest
import shapely
from shapely import Polygon, box
from shapely.affinity import translate

from decaljobs.craft.layout.lying import Lying, convex_parts, outline_turned

STEP = box(0, 0, 30, 10).union(box(0, 0, 10, 30))
COMB = Polygon(
    [
        (0, -9),
        *(
            (x, y)
            for at in range(0, 60, 6)
            for x, y in ((at, 0), (at, 9), (at + 3, 9), (at + 3, 0))
        ),
    ]
    + [(60, -9)]
)
RING = Polygon([(10 * cos(pi * at / 24), 10 * sin(pi * at / 24)) for at in range(48)])
BOW = RING.difference(translate(RING, 0, 8))


@pytest.mark.parametrize("shape", [STEP, COMB, RING, BOW], ids=range(4))
def test_the_parts_are_convex_and_cover_the_outline(shape):
    parts = convex_parts(shape)
    assert all(part.area == pytest.approx(part.convex_hull.area) for part in parts)
    whole = shapely.union_all(parts)
    assert shape.difference(whole).area < 1e-3
    # They stand out by less than a bay is filled, which is 2.5 mm round a corner.
    assert whole.hausdorff_distance(shape) < 9.1


def test_a_wide_bay_stays_open():
    whole = shapely.union_all(convex_parts(STEP))
    assert whole.area < STEP.area + 3
    assert not whole.intersects(box(13, 13, 30, 30))


def test_a_turned_outline_has_its_box_at_nought():
    turned = outline_turned(translate(STEP, 7, -4), 1)
    assert turned.shape.bounds == pytest.approx((0, 0, 30, 30))
    assert (
        turned.shape.symmetric_difference(
            translate(box(0, 0, 30, 10).union(box(20, 0, 30, 30)), 0, 0)
        ).area
        < 1e-6
    )


@pytest.mark.parametrize("quarters", [-1, 4, 0.5])
def test_it_refuses_other_turns(quarters):
    with pytest.raises(ValueError, match="0 to 3 quarters"):
        outline_turned(STEP, quarters)


def test_near_pieces_are_told_with_their_distance_and_direction():
    lying = Lying([outline_turned(box(0, 0, 10, 10), 0)] * 3)
    near = lying.near(np.array([[0.0, 0.0], [13.0, 14.0], [0.0, 60.0]]), 10.0)
    assert (near.first.tolist(), near.second.tolist()) == ([0], [1])
    assert near.apart[0] == pytest.approx(hypot(3, 4))
    assert near.towards[0] == pytest.approx((0.6, 0.8))
    assert not len(lying.near(np.array([[0.0, 0.0], [20.0, 0.0], [40.0, 0.0]]), 9.9).first)


def test_overlapping_pieces_come_apart_by_the_shortest_way():
    lying = Lying([outline_turned(box(0, 0, 10, 10), 0), outline_turned(box(0, 0, 20, 10), 0)])
    near = lying.near(np.array([[0.0, 0.0], [4.0, 8.0]]), 5.0)
    assert near.apart == pytest.approx([-2])
    assert near.towards[0] == pytest.approx((0, 1))


def test_a_disc_and_a_corner_overlap_across_the_corner():
    """The corner reaches the way to the rim less, of its own diagonal, into the disc."""
    lying = Lying([outline_turned(RING, 0), outline_turned(Polygon([(0, 0), (9, 9), (0, 18)]), 0)])
    # The triangle's point lies 3 mm inside the disc's rightmost point, seen from the left.
    near = lying.near(np.array([[0.0, 0.0], [17.0, 1.0]]), 5.0)
    assert near.apart[0] == pytest.approx(-3, abs=0.05)
    assert abs(near.towards[0][0]) > 0.9 * 1 / sqrt(1)
