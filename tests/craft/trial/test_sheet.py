from itertools import combinations

import pytest

from decaljobs.craft.trial.sheet import (
    FILM_LAYOUT,
    FRAME_WIDTH,
    PAPER_LAYOUT,
    Box,
    SheetCode,
    code_of_bits,
    film_sheet,
    paper_sheet,
)

LAYOUTS = pytest.mark.parametrize("layout", [PAPER_LAYOUT, FILM_LAYOUT], ids=["paper", "film"])
GREYS = [(grey, grey, grey) for grey in range(40)]


def overlap(one: Box, other: Box) -> bool:
    across = min(one.x + one.width, other.x + other.width) - max(one.x, other.x)
    down = min(one.y + one.height, other.y + other.height) - max(one.y, other.y)
    return across > 1e-9 and down > 1e-9


@LAYOUTS
def test_it_lays_nothing_over_anything_else(layout):
    things = [*layout.corners, layout.orientation, *layout.patches, *layout.ramp, *layout.papers]
    things += [*layout.code_cells, layout.paint, layout.qr, *layout.gaps, *layout.rims]
    things += layout.inks
    assert not [pair for pair in combinations(things, 2) if overlap(*pair)]


@LAYOUTS
def test_it_keeps_everything_inside_the_frame(layout):
    things = (*layout.patches, *layout.ramp, *layout.papers, *layout.inks, layout.paint, layout.qr)
    for box in things:
        assert box.x >= 0 and box.x + box.width <= FRAME_WIDTH
        assert box.y >= 0 and box.y + box.height <= layout.height
    assert all(
        layout.paint.x < x < layout.paint.x + layout.paint.width
        and layout.paint.y < y < layout.paint.y + layout.paint.height
        for x, y in layout.dots
    )


@LAYOUTS
def test_it_leaves_four_modules_of_white_round_the_qr_code(layout):
    # ISO/IEC 18004 asks four modules; the largest code used here has 41 modules.
    quiet = 4 * layout.qr.width / 41
    around = Box(
        layout.qr.x - quiet,
        layout.qr.y - quiet,
        layout.qr.width + 2 * quiet,
        layout.qr.height + 2 * quiet,
    )
    inked = [*layout.corners, layout.orientation, *layout.patches, *layout.ramp, layout.paint]
    inked += layout.inks
    assert layout.qr.width >= 25.0
    assert not [box for box in inked if overlap(around, box)]


@LAYOUTS
def test_it_keeps_black_squares_clear_of_the_marks(layout):
    # A mark's middle is measured with 2 mm of paper round it.
    for mark in (*layout.corners, layout.orientation):
        around = Box(mark.x - 2.0, mark.y - 2.0, mark.width + 4.0, mark.height + 4.0)
        assert not [box for box in layout.inks if overlap(around, box)]


def test_it_has_forty_patches_on_paper_and_24_on_film_of_at_least_12_mm():
    assert (len(PAPER_LAYOUT.patches), len(FILM_LAYOUT.patches)) == (40, 24)
    assert all(
        box.width >= 12 and box.height >= 12 for box in PAPER_LAYOUT.patches + FILM_LAYOUT.patches
    )


def test_it_takes_half_a_page_on_paper_and_less_on_film():
    assert PAPER_LAYOUT.height <= 297 / 2 - 20
    assert FILM_LAYOUT.height <= 0.75 * PAPER_LAYOUT.height


@pytest.mark.parametrize(("trial", "number"), [(1, 1), (12, 2), (262143, 63), (4096, 7)])
def test_it_reads_its_own_code_back(trial, number):
    sheet = paper_sheet(SheetCode(trial, number), GREYS)
    assert len(sheet.bits) == len(PAPER_LAYOUT.code_cells) == 40
    assert code_of_bits(sheet.bits) == SheetCode(trial, number)


def test_it_notices_any_single_cell_misread_in_number_or_check():
    sheet = paper_sheet(SheetCode(12, 2), GREYS)
    for place in range(32):
        bits = list(sheet.bits)
        bits[place] ^= 1
        assert code_of_bits(bits) is None


def test_it_tells_sheets_of_one_number_with_other_colours_apart():
    other = [*GREYS[:-1], (9, 9, 8)]
    code = SheetCode(12, 2)
    assert paper_sheet(code, GREYS).bits[:32] == paper_sheet(code, other).bits[:32]
    assert paper_sheet(code, GREYS).bits[32:] != paper_sheet(code, other).bits[32:]


@pytest.mark.parametrize(("trial", "number"), [(0, 1), (262144, 1), (1, 0), (1, 64)])
def test_it_refuses_numbers_that_the_code_cannot_hold(trial, number):
    with pytest.raises(ValueError, match="lies from 1 to"):
        SheetCode(trial, number)


def test_it_refuses_the_wrong_number_of_colours():
    with pytest.raises(ValueError, match="has 40 patches, not 24"):
        paper_sheet(SheetCode(1, 1), GREYS[:24])
    with pytest.raises(ValueError, match="has 24 patches, not 40"):
        film_sheet(SheetCode(1, 1), GREYS)
