"""A free place for the QR code of a sheet: clear of everything, and no film is spent on it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import box

from decaljobs.craft.film.freeplace import PRINTED_ROUND, QR_QUIET, QR_SIDE, free_for_qr
from decaljobs.craft.layout.place import Place

CLEAR = QR_QUIET + PRINTED_ROUND


def whole(*boxes):
    return [(Place(*sides), ()) for sides in boxes]


def test_it_stands_in_the_corner_nearest_to_the_top_right():
    assert free_for_qr(210, 297, 7, []) == (210 - 7 - 25, pytest.approx(7 + 4 - 1.3))


def test_it_keeps_off_what_lies_and_what_can_still_be_cut_off():
    row = whole((7, 7, 196, 40))
    assert free_for_qr(210, 297, 7, row, (210, 50)) is None
    left, top = free_for_qr(210, 297, 7, row)
    assert top >= 47 + CLEAR
    beside = free_for_qr(210, 297, 7, whole((7, 7, 160, 40)), (210, 50))
    assert beside == (178, 9.7)
    assert free_for_qr(210, 297, 7, whole((7, 7, 40, 280)), (50, 297)) is None


def test_a_rest_too_narrow_for_another_print_is_used():
    """Once its own edge is off on both sides, 20 mm at least must be left for pieces."""
    row = whole((7, 7, 196, 247))
    assert free_for_qr(210, 290, 7, row, (210, 257)) is None
    assert free_for_qr(210, 290, 3, whole((3, 3, 204, 247)), (210, 260)) is None
    left, top = free_for_qr(210, 297, 7, whole((7, 7, 196, 240)), (210, 264))
    assert top >= 247 + CLEAR
    assert top + QR_SIDE <= 297 - 7 - QR_QUIET + PRINTED_ROUND + 1e-6


def test_a_nested_piece_leaves_the_empty_half_of_its_box():
    """A right-angled triangle of 90 mm, its right angle at the top left; turned by a half."""
    triangle = ((0, 0), (90, 0), (0, 90))
    assert free_for_qr(104, 104, 7, [(Place(7, 7, 90, 90), ())]) is None
    left, top = free_for_qr(104, 104, 7, [(Place(7, 7, 90, 90), triangle)])
    assert left + top > 7 + 7 + 90
    left, top = free_for_qr(104, 104, 7, [(Place(7, 7, 90, 90, 180), triangle)])
    assert left + top + 2 * QR_SIDE < 7 + 7 + 90


def test_a_wide_edge_holds_it():
    assert free_for_qr(210, 297, 40, whole((40, 40, 130, 217))) == (145, 268)


SIDES = st.floats(1, 120)
PIECES = st.lists(st.tuples(st.floats(7, 180), st.floats(7, 180), SIDES, SIDES), max_size=8)


@given(PIECES, st.floats(0, 30))
def test_it_never_touches_a_piece_nor_leaves_the_part_that_can_be_printed(pieces, margin):
    found = free_for_qr(200, 220, margin, whole(*pieces))
    if found is None:
        return
    left, top = found
    code = box(left, top, left + QR_SIDE, top + QR_SIDE)
    assert box(margin, margin, 200 - margin, 220 - margin).buffer(1e-3).covers(code)
    for x, y, wide, high in pieces:
        assert code.distance(box(x, y, x + wide, y + high)) >= CLEAR - 1e-3
