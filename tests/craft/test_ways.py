"""Lengths and times in one reader's ways.

An inch is 25.4 mm exactly (international yard and pound agreement of 1959).
"""

from datetime import date, time
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decaljobs.craft.ways import NO_BREAK, Ways

INCHES = Ways(unit="in", twelve=True, order="mdy")


@pytest.mark.parametrize(
    ("mm", "inches"),
    # ASME Y14.1 A is 8.5 by 11 inches; the others are whole fractions of an inch.
    [("215.9", "8.5"), ("279.4", "11"), ("25.4", "1"), ("12.7", "0.5"), ("3.175", "0.125")],
)
def test_known_lengths_are_known_in_inches(mm, inches):
    assert INCHES.short(Decimal(mm)) == inches
    assert INCHES.to_mm(Decimal(inches)) == Decimal(mm)


@pytest.mark.parametrize("decimals", [1, 2, 3])
@given(units=st.integers(0, 2_000_000))
def test_what_is_shown_in_inches_and_typed_again_is_the_same_length(decimals, units):
    mm = Decimal(units).scaleb(-decimals)
    shown = Decimal(INCHES.short(mm, decimals))
    step = Decimal(1).scaleb(-decimals)
    assert INCHES.to_mm(shown).quantize(step) == mm


def test_lengths_carry_their_unit_on_the_same_line():
    assert Ways().length(24.04) == f"24.0{NO_BREAK}mm"
    assert INCHES.length(24.04) == f"0.946{NO_BREAK}in"
    assert INCHES.size(210, 297) == f"8.2677 × 11.6929{NO_BREAK}in"


def test_a_length_that_rounds_to_nothing_has_no_minus():
    """As a decal that hangs over an edge by less than is told."""
    assert Ways().length(-0.04) == f"0.0{NO_BREAK}mm"
    assert INCHES.length(-0.001) == f"0.000{NO_BREAK}in"
    assert Ways().length(-0.06) == f"-0.1{NO_BREAK}mm"


@pytest.mark.parametrize(
    ("when", "twelve"),
    [
        (time(0, 0), "12:00 am"),
        (time(12, 0), "12:00 pm"),
        (time(11, 59), "11:59 am"),
        (time(21, 40), "9:40 pm"),
    ],
)
def test_the_clock_of_twelve_hours(when, twelve):
    assert INCHES.clock(when).replace(NO_BREAK, " ") == twelve
    assert Ways().clock(when) == f"{when:%H:%M}"


@pytest.mark.parametrize(
    ("order", "said", "without_year"),
    [
        ("dmy", "Thu 3 Dec 2026", "Thu 3 Dec"),
        ("mdy", "Thu Dec 3, 2026", "Thu Dec 3"),
        ("ymd", "Thu 2026-12-03", "Thu 2026-12-03"),
    ],
)
def test_the_order_of_a_date(order, said, without_year):
    day = date(2026, 12, 3)
    assert Ways(order=order).day(day) == said
    assert Ways(order=order).day(day, year=False) == without_year
    assert f"Thu {Ways(order=order).day(day, weekday=False)}" == said


@pytest.mark.parametrize(
    ("in_mm", "in_inches"),
    [
        ("over 60 mm", "over 2.36 in"),
        ("up to 10 mm wide", "up to 0.39 in wide"),
        ("25 to 60 mm", "0.98 to 2.36 in"),
        ("at most 20.3 × 6.1 mm wide", "at most 0.799 × 0.240 in wide"),
        ("4 mm/ft, 3 mm² and 5 mmHg stay", "4 mm/ft, 3 mm² and 5 mmHg stay"),
        ("wider by 0.24\u00a0mm.", "wider by 0.0094 in."),
    ],
)
def test_a_sentence_of_the_trade_is_said_in_inches(in_mm, in_inches):
    assert INCHES.sentence(in_mm).replace(NO_BREAK, " ") == in_inches
    assert Ways().sentence(in_mm) == in_mm
