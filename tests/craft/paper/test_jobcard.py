import pytest
from hypothesis import given
from hypothesis import strategies as st

from decaljobs.craft.drawings.section import section
from decaljobs.craft.paper.jobcard import LONGEST_ADDRESS, CardDecal, JobCard, fit_art, size_words

SIZE = st.floats(0.1, 2000)


def decal(**changes):
    given = {"number": 1, "of": 1, "width_mm": 24.0, "height_mm": 10.0} | changes
    return CardDecal(
        place="tail", build="clear", stage="set", section=section("clear_alone", "set"), **given
    )


def card(**changes):
    given = {"body_colour": "#23472F", "address": "http://localhost:8000/p/1"} | changes
    return JobCard("Tram", "T-1", "1:45", finish="", printed_at="", zone="UTC", **given)


@given(SIZE, SIZE)
def test_it_shows_art_at_actual_size_if_it_fits_either_way_round(width, height):
    fit = fit_art(width, height, 172, 222)
    fits = (width <= 172 and height <= 222) or (height <= 172 and width <= 222)
    assert (fit.factor == 1) == fits


@given(SIZE, SIZE)
def test_it_keeps_art_inside_and_its_proportions(width, height):
    fit = fit_art(width, height, 172, 222)
    assert fit.width_mm <= 172 * (1 + 1e-9) and fit.height_mm <= 222 * (1 + 1e-9)
    wide, high = (height, width) if fit.turned else (width, height)
    assert fit.width_mm == pytest.approx(wide * fit.factor)
    assert fit.height_mm == pytest.approx(high * fit.factor)


def test_it_turns_art_only_where_that_shows_it_larger():
    assert not fit_art(170, 100, 172, 222).turned
    assert fit_art(200, 100, 172, 222).turned
    assert not fit_art(100, 400, 172, 222).turned


def test_it_says_so_when_art_is_not_at_actual_size():
    small = size_words(24, 10, fit_art(24, 10, 172, 222))
    large = size_words(344, 100, fit_art(344, 100, 172, 222))
    assert small == "24.0 × 10.0 mm, actual size"
    assert "Not at actual size: shown at 0.645 of it, turned a quarter." in large


@pytest.mark.parametrize("size", [0, -1, float("nan"), float("inf")])
def test_it_rejects_art_of_no_size(size):
    with pytest.raises(ValueError, match="more than 0 mm"):
        fit_art(size, 10, 172, 222)
    with pytest.raises(ValueError, match="more than 0 and less than 5000"):
        decal(width_mm=size)


@pytest.mark.parametrize(("number", "of"), [(0, 1), (2, 1), (1, 0)])
def test_it_rejects_a_number_that_is_none_of_n(number, of):
    with pytest.raises(ValueError, match="1 to n"):
        decal(number=number, of=of)


def test_it_rejects_fewer_than_no_copies():
    with pytest.raises(ValueError, match="0 or more"):
        decal(good_copies=(("base", -1),))


def test_it_writes_the_colour_in_one_way_and_rejects_others():
    assert card().body_colour == "#23472f"
    with pytest.raises(ValueError, match="#rrggbb"):
        card(body_colour="green")


@pytest.mark.parametrize("address", ["", "x" * (LONGEST_ADDRESS + 1), "é" * LONGEST_ADDRESS])
def test_it_rejects_an_address_that_no_code_can_carry(address):
    with pytest.raises(ValueError, match="1 to 180 bytes"):
        card(address=address)
