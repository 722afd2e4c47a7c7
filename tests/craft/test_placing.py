"""Places on a panel, checked by plane geometry and against shapely."""

import cmath
from math import radians, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.affinity import translate
from shapely.geometry import Polygon

from decaljobs.craft.placing import (
    LEAST_TOLD_MM,
    Overlap,
    Panel,
    Placed,
    distances,
    measures,
    overhangs,
    overlaps,
    warnings_of,
)

WAGON = Panel(120, 30)
PLACE = st.floats(-50, 200)
SIZE = st.floats(0.5, 60)
TURN = st.floats(0, 360, exclude_max=True)


@given(PLACE, PLACE, SIZE, SIZE, TURN)
def test_its_corners_are_those_of_a_turned_rectangle(x, y, width, height, turn):
    corners = [complex(*corner) for corner in Placed("board", x, y, width, height, turn).corners]
    assert sum(corners) / 4 == pytest.approx(complex(x, y), abs=1e-9)
    along = corners[1] - corners[0]
    assert abs(along) == pytest.approx(width)
    assert abs(corners[3] - corners[0]) == pytest.approx(height)
    # The plane's own rule: a turn by an angle multiplies by e to the i times it.
    assert along / abs(along) == pytest.approx(cmath.exp(1j * radians(turn)), abs=1e-9)


@given(PLACE, PLACE, SIZE, SIZE, TURN)
def test_its_distances_and_its_reach_make_up_the_panel(x, y, width, height, turn):
    free = distances(WAGON, Placed("board", x, y, width, height, turn))
    reach = 120 - free.left - free.right
    assert min(width, height) - 1e-9 <= reach <= sqrt(width**2 + height**2) + 1e-9
    assert free.left + reach / 2 == pytest.approx(x, abs=1e-6)
    assert free.below - free.above == pytest.approx(2 * y - 30, abs=1e-6)


def test_a_square_turned_by_45_degrees_reaches_half_its_diagonal():
    free = distances(WAGON, Placed("star", 60, 15, 10, 10, turn=45))
    assert free.left == pytest.approx(60 - 5 * sqrt(2))
    assert free.below == pytest.approx(15 - 5 * sqrt(2))


def test_it_names_every_edge_that_a_decal_hangs_over():
    told = {over.edge: over.by_mm for over in overhangs(WAGON, [Placed("sheet", 60, 15, 130, 40)])}
    assert told == {"left": 5, "right": 5, "lower": 5, "upper": 5}


@pytest.mark.parametrize(("x", "edges"), [(10.0, []), (9.96, []), (9.94, ["left"])])
def test_a_decal_may_touch_the_edge_but_not_reach_over_it(x, edges):
    found = overhangs(WAGON, [Placed("board", x, 15, 20, 6)])
    assert [over.edge for over in found] == edges


PAIRS = [
    (Placed("one", 40, 12, 20, 8), Placed("other", 46, 15, 12, 9)),
    (Placed("one", 40, 12, 20, 8), Placed("other", 46, 15, 12, 9, turn=17)),
    (Placed("one", 40, 12, 20, 8, turn=30), Placed("other", 41, 13, 5, 3, turn=110)),
    (Placed("one", 40, 12, 30, 2, turn=80), Placed("other", 41, 13, 30, 2, turn=10)),
]


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_moved_apart_by_the_overlap_they_touch_and_by_no_less(one, other):
    """Compared with shapely: the shortest move in any direction after which nothing is shared."""
    (found,) = overlaps([one, other])
    still, moved = Polygon(one.corners), Polygon(other.corners)
    ways = []
    for angle in np.arange(0, 360, 0.5):
        step = cmath.exp(1j * radians(angle))
        near, far = 0.0, 80.0
        while far - near > 1e-4:
            by = step * (near + far) / 2
            apart = still.intersection(translate(moved, by.real, by.imag)).area < 1e-9
            near, far = (near, (near + far) / 2) if apart else ((near + far) / 2, far)
        ways.append(far)
    # Half a degree off the shortest way, a move is longer by its part in 26,000.
    assert found.by_mm == pytest.approx(min(ways), abs=2e-3)


@given(PLACE, PLACE, SIZE, SIZE, TURN, PLACE, PLACE, TURN)
def test_it_overlaps_exactly_where_shapely_finds_shared_ground(
    x, y, width, height, turn, x2, y2, turn2
):
    one = Placed("one", x, y, width, height, turn)
    other = Placed("other", x2, y2, height, width, turn2)
    shared = Polygon(one.corners).intersection(Polygon(other.corners))
    forth, back = ([o.by_mm for o in overlaps(pair)] for pair in ([one, other], [other, one]))
    assert forth == pytest.approx(back)
    if shared.buffer(-LEAST_TOLD_MM).area > 0:
        assert forth
    if shared.is_empty:
        assert not forth


def test_a_measure_goes_round_what_lies_in_its_way():
    near, behind = Placed("near", 20, 15, 10, 10), Placed("behind", 40, 15, 10, 10)
    lines = [(line.start, line.end, line.length) for line in measures(WAGON, [near, behind])]
    assert lines == [
        ((0.0, 15), (15, 15), 15),
        ((20, 0.0), (20, 10), 10),
        # From the left the first decal is in the way: measured from the right.
        ((120, 15), (45, 15), 75),
        ((40, 0.0), (40, 10), 10),
    ]
    walled = [near, behind, Placed("wall", 80, 15, 4, 28)]
    assert [line.length for line in measures(WAGON, walled, least=12)] == [15, 38]


def test_nothing_and_a_decal_alone_overlap_with_nothing():
    assert warnings_of(Panel(60, 20), []) == ()
    assert warnings_of(Panel(60, 20), [Placed("board", 30, 10, 20, 6)]) == ()


def test_neighbours_may_touch():
    side_by_side = [Placed("one", 10, 10, 10, 10), Placed("other", 20, 10, 10, 10)]
    assert list(overlaps(side_by_side)) == []
    closer = [side_by_side[0], Placed("other", 19.9, 10, 10, 10)]
    assert list(overlaps(closer)) == [Overlap("one", "other", pytest.approx(0.1))]


def test_it_tells_everything_at_once():
    told = warnings_of(
        WAGON,
        [Placed("one", 5, 15, 20, 6), Placed("other", 10, 15, 4, 4), Placed("far", 90, 15, 9, 9)],
    )
    assert told == (
        "one hangs over the left edge by 5.0\u00a0mm.",
        "one and other overlap by 5.0\u00a0mm.",
    )


@pytest.mark.parametrize("side", [0, 0.99, 2000.1, float("nan"), float("inf"), -4])
def test_it_refuses_a_panel_that_cannot_be(side):
    with pytest.raises(ValueError, match="1 to 2000 mm"):
        Panel(side, 30)
    with pytest.raises(ValueError, match="1 to 2000 mm"):
        Panel(30, side)


def test_it_refuses_a_decal_that_cannot_be():
    with pytest.raises(ValueError, match="more than 0 mm"):
        Placed("board", 5, 5, 0, 4)
    with pytest.raises(ValueError, match="numbers"):
        Placed("board", float("nan"), 5, 4, 4)
