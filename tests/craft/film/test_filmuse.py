"""Film to the square millimetre."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from decaljobs.craft.film.filmuse import FilmAccount, box, film_account, outline

SIDES = st.floats(1, 60)


@given(
    st.lists(st.tuples(SIDES, SIDES), max_size=10),
    st.lists(st.tuples(SIDES, SIDES), max_size=3),
    st.floats(0, 4),
)
def test_pieces_gaps_offcuts_and_waste_are_the_sheet(pieces, offcuts, gap):
    account = film_account((400, 400), [box(*size) for size in pieces], offcuts, gap=gap)
    assert account.whole == pytest.approx(160_000, abs=1)  # to 1 mm²
    assert min(account.pieces, account.gaps, account.kept, account.waste) >= -1e-6
    assert account.pieces == pytest.approx(sum(wide * high for wide, high in pieces))
    assert account.kept == pytest.approx(sum(wide * high for wide, high in offcuts))


def test_a_sheet_by_hand():
    """By hand: 100 × 100 mm with two pieces of 30 × 20 and an offcut of 100 × 40.

    Pieces 2 · 600 = 1200. Each with a strip of 2 mm at two sides is 32 · 22 = 704, so the gaps are
    2 · 104 = 208. The offcut is 4000. Waste is 10 000 − 1200 − 208 − 4000 = 4592.
    """
    account = film_account((100, 100), [box(30, 20)] * 2, [(100, 40)], gap=2)
    assert account == FilmAccount(1200.0, 208.0, 4000.0, 4592.0)


def test_gaps_end_where_the_sheet_does():
    account = film_account((100, 100), [box(100, 99)], gap=3)
    assert (account.gaps, account.waste) == (100.0, 0.0)


def test_more_than_the_sheet_is_refused():
    with pytest.raises(ValueError, match="of 10000"):
        film_account((100, 100), [box(100, 100)], [(100, 1)])


@given(st.lists(st.tuples(st.floats(0, 50), st.floats(0, 50)), min_size=3, max_size=3, unique=True))
def test_an_outline_has_the_area_that_shapely_gives_it(corners):
    """Source: shapely (GEOS), area and length of a polygon."""
    reference, cut = Polygon(corners), outline(corners)
    assert cut.area == pytest.approx(reference.area, abs=1e-6)
    assert 2 * cut.half_round == pytest.approx(reference.length, abs=1e-6)


def test_an_outline_wants_three_corners():
    with pytest.raises(ValueError, match="3 or more"):
        outline([(0, 0), (1, 1)])


def test_accounts_add_up_part_by_part_and_what_is_kept_is_not_used():
    both = FilmAccount(1, 2, 3, 4) + FilmAccount(10, 20, 30, 40)
    assert both == FilmAccount(pieces=11, gaps=22, kept=33, waste=44)
    assert (both.whole, both.used) == (110, 77)
