"""A nesting made shorter: what it answers holds, is never longer, and ends when told."""

from collections import Counter
from itertools import count
from math import cos, pi, sin, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box
from shapely.affinity import translate

from decaljobs.craft.layout.lying import outline_turned
from decaljobs.craft.layout.rearranging import Arrangement, different_turns, rearranged

DISC = Polygon([(10 + 10 * cos(pi * at / 24), 10 + 10 * sin(pi * at / 24)) for at in range(48)])
SMALL = Polygon([(x * 0.4, y * 0.4) for x, y in DISC.exterior.coords])
POINT = Polygon([(0, 0), (24, 0), (12, 30)])
BAR = box(0, 0, 40, 6)
SHAPES = dict(enumerate((DISC, SMALL, POINT, BAR)))
TURNS = {0: [0], 1: [0], 2: [0, 1, 2, 3], 3: [0, 1]}


def column(kinds, gap):
    """One above the other."""
    places, foot = [], 0.0
    for kind in kinds:
        places.append((0.0, foot))
        foot += SHAPES[kind].bounds[3] + gap
    return Arrangement(tuple(kinds), (0,) * len(kinds), np.array(places), foot - gap)


def lying(found):
    return [
        translate(outline_turned(SHAPES[kind], turn).shape, *place)
        for kind, turn, place in zip(found.kinds, found.turns, found.places, strict=True)
    ]


def after(calls):
    asked = count()
    return lambda: next(asked) >= calls


def test_discs_in_a_column_come_to_lie_beside_each_other():
    """Four discs of 20 mm, 3 mm apart, take two rows of two on 43 mm."""
    found = rearranged(SHAPES, TURNS, column([0] * 4, 3), gap=3, width=43, over=after(150))
    assert found.length == pytest.approx(43, abs=0.1)


def test_a_bar_is_turned_where_that_saves_film():
    found = rearranged(SHAPES, TURNS, column([0, 0, 3], 3), gap=3, width=40, over=after(400))
    assert found.turns[2] == 1
    # Beside the upright bar 31 mm are left for the discs, whose middles lie 23 mm apart.
    assert found.length == pytest.approx(20 + sqrt(23**2 - 11**2), abs=0.1)


def test_it_tells_of_every_shorter_arrangement():
    told = []
    start = column([0, 1, 2, 3, 0], 3)
    found = rearranged(SHAPES, TURNS, start, gap=3, width=60, over=after(200), better=told.append)
    lengths = [one.length for one in told]
    assert lengths == sorted(set(lengths), reverse=True)
    assert lengths[0] < start.length
    assert told[-1] == found


def test_the_same_seed_finds_the_same():
    once, again = (
        rearranged(SHAPES, TURNS, column([0, 1, 2, 3], 3), gap=3, width=50, seed=4, over=after(80))
        for _ in range(2)
    )
    assert once.length == again.length
    assert np.array_equal(once.places, again.places)


def test_nothing_is_tried_once_the_time_is_over():
    start = column([0, 1, 2], 3)
    assert rearranged(SHAPES, TURNS, start, gap=3, width=60, over=lambda: True) is start


def test_a_piece_as_long_as_the_strip_stays_inside():
    start = column([0], 3)
    found = rearranged(SHAPES, TURNS, start, gap=3, width=60, over=after(50))
    assert (found.length, found.places.tolist()) == (20, [[0, 0]])


@pytest.mark.parametrize(
    "shape, same",
    [
        (DISC, {0: 0, 1: 0, 2: 0, 3: 0}),
        (BAR, {0: 0, 1: 1, 2: 0, 3: 1}),
        (POINT, {0: 0, 1: 1, 2: 2, 3: 3}),
    ],
    ids=range(3),
)
def test_turns_that_leave_an_outline_the_same_count_once(shape, same):
    assert different_turns(shape, range(4)) == same
    assert different_turns(shape, [2]) == {2: 2}


@settings(max_examples=15)
@given(
    st.lists(st.sampled_from(sorted(SHAPES)), min_size=1, max_size=7),
    st.floats(0.5, 5),
    st.floats(42, 90),
    st.integers(0, 99),
)
def test_it_never_overlaps_loses_a_piece_leaves_the_strip_or_makes_it_longer(
    kinds, gap, width, seed
):
    start = column(kinds, gap)
    found = rearranged(SHAPES, TURNS, start, gap=gap, width=width, seed=seed, over=after(40))
    shapes = lying(found)
    assert Counter(found.kinds) == Counter(kinds)
    assert all(turn in TURNS[kind] for kind, turn in zip(found.kinds, found.turns, strict=True))
    assert found.length <= start.length + 1e-9
    inside = box(0, 0, width, found.length).buffer(1e-3)
    for at, shape in enumerate(shapes):
        assert inside.covers(shape)
        assert all(shape.distance(other) >= gap - 0.002 for other in shapes[:at])
