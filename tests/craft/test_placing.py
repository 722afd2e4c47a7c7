"""Places on a panel, checked by plane geometry and by counting points on a fine grid."""

import cmath
from math import radians, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from decaljobs.craft.placing import (
    Overlap,
    Panel,
    Placed,
    distances,
    overhangs,
    overlaps,
    warnings_of,
)

WAGON = Panel(120, 30)
PLACE = st.floats(-50, 200)
SIZE = st.floats(0.5, 60)
TURN = st.floats(0, 360, exclude_max=True)


def covered(placed: Placed, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Which points lie on the decal: turned back about its centre they lie in its rectangle."""
    back = ((x - placed.x_mm) + 1j * (y - placed.y_mm)) * cmath.exp(-1j * radians(placed.turn))
    return (abs(back.real) < placed.width_mm / 2) & (abs(back.imag) < placed.height_mm / 2)


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


@pytest.mark.parametrize("turn", [0, 17, 45, 90, 213])
def test_shared_area_is_what_points_on_a_grid_count(turn):
    one, other = Placed("one", 40, 12, 20, 8), Placed("other", 46, 15, 12, 9, turn)
    (found,) = overlaps([one, other])
    step = 0.02
    x, y = np.meshgrid(np.arange(25, 65, step), np.arange(0, 30, step))
    counted = np.sum(covered(one, x, y) & covered(other, x, y)) * step**2
    # An outline of some 40 mm passes through cells of 0.02 mm: at most 0.8 mm² of doubt.
    assert found.area_mm2 == pytest.approx(counted, abs=0.4)


@given(PLACE, PLACE, SIZE, SIZE, TURN, PLACE, PLACE, TURN)
def test_it_is_the_same_whichever_decal_is_named_first(x, y, width, height, turn, x2, y2, turn2):
    one = Placed("one", x, y, width, height, turn)
    other = Placed("other", x2, y2, height, width, turn2)
    forth, back = (sum(o.area_mm2 for o in overlaps(p)) for p in ([one, other], [other, one]))
    assert forth == pytest.approx(back, abs=1e-6)


def test_neighbours_may_touch():
    side_by_side = [Placed("one", 10, 10, 10, 10), Placed("other", 20, 10, 10, 10)]
    assert list(overlaps(side_by_side)) == []
    closer = [side_by_side[0], Placed("other", 19.9, 10, 10, 10)]
    assert list(overlaps(closer)) == [Overlap("one", "other", pytest.approx(1.0))]


def test_it_tells_everything_at_once():
    told = warnings_of(
        WAGON,
        [Placed("one", 5, 15, 20, 6), Placed("other", 10, 15, 4, 4), Placed("far", 90, 15, 9, 9)],
    )
    assert told == (
        "one hangs over the left edge by 5.0 mm.",
        "one and other overlap by 16.0 mm².",
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
