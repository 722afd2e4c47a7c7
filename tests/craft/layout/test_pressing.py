"""Pieces pressed together: never nearer than the gap, off the strip, or longer than before."""

from itertools import count
from math import cos, pi, sin, sqrt

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, box
from shapely.affinity import translate

from decaljobs.craft.layout.lying import Lying, outline_turned
from decaljobs.craft.layout.pressing import pressed, settled, tightened

DISC = Polygon([(10 + 10 * cos(pi * at / 24), 10 + 10 * sin(pi * at / 24)) for at in range(48)])
STEP = box(0, 0, 30, 10).union(box(0, 0, 10, 30))
POINT = Polygon([(0, 0), (24, 0), (12, 30)])
BAR = box(0, 0, 40, 6)
KINDS = (DISC, STEP, POINT, BAR)


def moved(shapes, moves):
    return [translate(shape, *move) for shape, move in zip(shapes, moves, strict=True)]


def closest(shapes):
    return min(
        (one.distance(other) for at, one in enumerate(shapes) for other in shapes[:at]),
        default=99.0,
    )


def test_a_disc_comes_to_lie_between_two_others():
    """Their middles then make a triangle with sides of a diameter and a gap."""
    shapes = [translate(DISC, x, y) for x, y in ((0, 4), (23, 2), (12, 26))]
    tight = moved(shapes, tightened(shapes, gap=3, width=43))
    top = max(shape.bounds[3] for shape in tight)
    assert top == pytest.approx(20 + 23 * sqrt(3) / 2, abs=0.06)
    assert closest(tight) == pytest.approx(3, abs=0.001)


def test_steps_slide_into_each_other():
    turned = outline_turned(STEP, 2).shape
    shapes = [STEP, translate(turned, 1, 50)]
    tight = moved(shapes, tightened(shapes, gap=3, width=40))
    # The upper one's foot stands a gap above the lower one's long side.
    assert max(shape.bounds[3] for shape in tight) <= 43.1
    assert closest(tight) >= 2.999


def test_no_round_is_begun_once_the_time_is_over():
    shapes = [DISC, translate(DISC, 0, 90)]
    assert not tightened(shapes, gap=3, width=20, over=lambda: True).any()
    asked = count()
    tightened(shapes, gap=3, width=20, over=lambda: next(asked) >= 4)
    assert next(asked) == 5


@pytest.mark.parametrize("places", [((0, 0), (0, 5)), ((0, 0), (0, 40), (9, 80))])
def test_what_does_not_hold_is_not_mended(places):
    shapes = [translate(BAR, *place) for place in places]
    assert not tightened(shapes, gap=3, width=45).any()


def test_nothing_is_pressed_where_nothing_lies():
    assert tightened([], gap=3, width=20).shape == (0, 2)


def test_what_overlaps_is_moved_apart():
    lying = Lying([outline_turned(BAR, 0)] * 2)
    found = settled(lying, np.array([[0.0, 0.0], [0.0, 5.0]]), gap=3, width=40)
    assert found.length == pytest.approx(15, abs=0.001)
    assert found.overlap == pytest.approx(0, abs=1e-6)


def test_a_strip_of_given_length_leaves_what_does_not_fit_overlapping():
    lying = Lying([outline_turned(BAR, 0)] * 2)
    places = np.array([[0.0, 0.0], [0.0, 9.0]])
    short = pressed(lying, places, gap=3, width=40, length=13.5)
    assert short.overlap == pytest.approx(1.5, abs=0.001)
    assert short.length == pytest.approx(13.5)
    assert short.strain.min() > 0
    assert pressed(lying, places, gap=3, width=40, length=15).overlap == pytest.approx(0)


loose = st.lists(
    st.tuples(st.sampled_from(KINDS), st.integers(0, 3), st.floats(0, 1), st.floats(0, 9)),
    min_size=1,
    max_size=8,
)


@given(loose, st.floats(0, 5), st.floats(40, 90))
def test_it_never_overlaps_leaves_the_strip_or_makes_it_longer(rows, gap, width):
    shapes, foot = [], 0.0
    for shape, quarters, aside, above in rows:
        upright = outline_turned(shape, quarters).shape
        _, _, wide, high = upright.bounds
        shapes.append(translate(upright, aside * (width - wide), foot + above))
        foot += above + high + gap
    moves = tightened(shapes, gap=gap, width=width)
    tight = moved(shapes, moves)
    boxes = shapely.bounds(tight)
    assert boxes[:, :2].min() >= -1e-6
    assert boxes[:, 2].max() <= width + 1e-6
    assert boxes[:, 3].max() <= max(shape.bounds[3] for shape in shapes) + 1e-6
    assert closest(tight) >= gap - 0.002
    for shape, tight_shape in zip(shapes, tight, strict=True):
        assert tight_shape.area == pytest.approx(shape.area)
