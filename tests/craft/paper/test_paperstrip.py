"""Panels divided over pages: every spot on one page, none on two, and no more pages than needed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decaljobs.craft.paper.paperstrip import divide

ROOM = (170.0, 200.0)
SIDE = st.floats(1, 2000)


@given(SIDE, SIDE)
def test_the_parts_make_up_the_panel_and_each_fits_on_its_page(width, height):
    found = divide(width, height, *ROOM)
    assert sum(part.width * part.height for part in found.parts) == pytest.approx(width * height)
    for part in found.parts:
        wide, high = (part.height, part.width) if found.turned else (part.width, part.height)
        assert wide <= ROOM[0] + 1e-6
        assert high <= ROOM[1] + 1e-6
        right, top = part.left + part.width, part.below + part.height
        assert (part.column == found.columns) == (right == pytest.approx(width))
        assert (part.row == found.rows) == (top == pytest.approx(height))
    places = {(part.column, part.row) for part in found.parts}
    assert len(places) == len(found.parts) == found.columns * found.rows


@given(SIDE, SIDE)
def test_it_takes_no_more_pages_than_either_way_round_would(width, height):
    upright = -(-width // ROOM[0]) * -(-height // ROOM[1])
    turned = -(-width // ROOM[1]) * -(-height // ROOM[0])
    assert len(divide(width, height, *ROOM).parts) <= min(upright, turned)


@pytest.mark.parametrize(
    ("size", "turned", "parts"),
    [
        ((170, 200), False, 1),
        ((200, 170), True, 1),
        ((170.5, 20), True, 1),
        ((400, 60), True, 2),
        ((340, 200), False, 2),
        ((2000, 2000), False, 120),
    ],
)
def test_it_turns_before_it_divides(size, turned, parts):
    found = divide(*size, *ROOM)
    assert (found.turned, len(found.parts)) == (turned, parts)


def test_the_upper_row_comes_first():
    found = divide(300, 300, *ROOM)
    assert [(part.column, part.row) for part in found.parts] == [(1, 2), (2, 2), (1, 1), (2, 1)]


@pytest.mark.parametrize("sizes", [(0, 5, 170, 200), (5, 5, 0, 200), (5, float("nan"), 170, 200)])
def test_it_refuses_sizes_that_cannot_be(sizes):
    with pytest.raises(ValueError, match="more than 0 mm"):
        divide(*sizes)
