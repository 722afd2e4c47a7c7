"""Costs to the penny, film to the square millimetre."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decaljobs.craft.stores.cost import Cost, cost_line, rounded, shared_out


def test_a_worked_example_to_the_penny():
    """By hand: an A4 sheet is 210 · 297 = 62 370 mm² and costs 1.80.

    Film: 12 474 mm² is a fifth of it, 0.36. Fluid: 25 ml for 6.00 is 0.24 a ml; 1.5 ml is 0.36.
    Blades: 50 for 9.50 is 0.19 each; 0.3 of one is 0.057, rounded half up 0.06. Work: 50 min at
    24.00 an hour is 20.00. Together 0.36 + 0.36 + 0.06 + 20.00 = 20.78.
    """
    cost = Cost(
        "GBP",
        (
            cost_line("White film", "sheet", Decimal("1.80"), Decimal(12_474) / 62_370),
            cost_line("Setting fluid", "ml", Decimal("6.00") / 25, Decimal("1.5")),
            cost_line("Blades", "piece", Decimal("9.50") / 50, Decimal("0.3")),
            cost_line("Bench time", "min", Decimal("24.00") / 60, Decimal(50)),
        ),
    )
    assert [str(line.amount) for line in cost.lines] == ["0.36", "0.36", "0.06", "20.00"]
    assert cost.total == Decimal("20.78")
    assert [line.reckoning for line in cost.lines] == [
        "0.2 sheets at 1.80",
        "1.5 ml at 0.24",
        "0.3 pieces at 0.19",
        "0 h 50 min at 24.00 an hour",
    ]


@pytest.mark.parametrize(
    ("minutes", "said"),
    [("59.4", "0 h 59"), ("59.5", "1 h 00"), ("60", "1 h 00"), ("605", "10 h 05")],
)
def test_time_is_told_in_hours_and_whole_minutes_and_paid_to_the_part_of_one(minutes, said):
    line = cost_line("Bench time", "min", Decimal("0.4"), Decimal(minutes))
    assert line.reckoning == f"{said} min at 24.00 an hour"
    assert line.amount == rounded(Decimal(minutes) * 24 / 60)


@pytest.mark.parametrize(
    ("exact", "kept"),
    [("0.005", "0.01"), ("0.015", "0.02"), ("-0.005", "-0.01"), ("2.4449", "2.44")],
)
def test_it_rounds_half_up(exact, kept):
    assert rounded(Decimal(exact)) == Decimal(kept)


@given(st.floats(0, 1e6), st.lists(st.floats(0, 1e3), min_size=1, max_size=20))
def test_what_is_shared_out_is_the_whole(total, weights):
    assert sum(shared_out(total, weights)) == pytest.approx(total, rel=1e-9, abs=1e-9)
