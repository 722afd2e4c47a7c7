"""Costs to the penny, film to the square millimetre."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decaljobs.craft.stores.cost import (
    Cost,
    film_line,
    rounded,
    shared_out,
    used_line,
    work_line,
)


def test_a_worked_example_to_the_penny():
    """By hand: an A4 sheet is 210 · 297 = 62 370 mm² and costs 1.80.

    Film: 12 474 mm² is a fifth of it, 0.36. Fluid: 25 ml for 6.00 is 0.24 a ml; 1.5 ml is 0.36.
    Blades: 50 for 9.50 is 0.19 each; 0.3 of one is 0.057, rounded half up 0.06. Work: 50 min at
    24.00 an hour is 20.00. Together 0.36 + 0.36 + 0.06 + 20.00 = 20.78.
    """
    cost = Cost(
        "GBP",
        (
            film_line("White film", 12_474, 62_370, Decimal("1.80")),
            used_line("Setting fluid", Decimal("1.5"), "ml", Decimal("6.00") / 25),
            used_line("Blades", Decimal("0.3"), "piece", Decimal("9.50") / 50),
            work_line("Bench time", 50, Decimal("24.00")),
        ),
    )
    assert [str(line.amount) for line in cost.lines] == ["0.36", "0.36", "0.06", "20.00"]
    assert cost.total == Decimal("20.78")


@pytest.mark.parametrize(
    ("exact", "kept"),
    [("0.005", "0.01"), ("0.015", "0.02"), ("-0.005", "-0.01"), ("2.4449", "2.44")],
)
def test_it_rounds_half_up(exact, kept):
    assert rounded(Decimal(exact)) == Decimal(kept)


@given(st.floats(0, 1e6), st.lists(st.floats(0, 1e3), min_size=1, max_size=20))
def test_what_is_shared_out_is_the_whole(total, weights):
    assert sum(shared_out(total, weights)) == pytest.approx(total, rel=1e-9, abs=1e-9)
