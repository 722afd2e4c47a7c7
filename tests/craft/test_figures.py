"""Figures that never say more than is so."""

from decimal import Decimal

import pytest

from decaljobs.craft.figures import cut_tenths, raised_tenths, short, told_chance, whole_percent


@pytest.mark.parametrize(
    ("value", "said"), [(7.449, "7.4"), (11.999, "11.9"), (12.0, "12"), (0.3, "0.3"), (0, "0")]
)
def test_it_cuts_to_tenths(value, said):
    assert cut_tenths(value) == said


@pytest.mark.parametrize(
    ("value", "said"), [(85.04, "85.1"), (85.1, "85.1"), (86.0, "86"), (1.27, "1.3"), (0, "0")]
)
def test_it_raises_to_tenths(value, said):
    assert raised_tenths(value) == said


def test_no_share_is_rounded_to_certainty_or_to_none():
    assert whole_percent(0.995) == whole_percent(199 / 200) == "99 %"
    assert whole_percent(0.904) == "90 %"
    assert whole_percent(1) == "100 %"
    assert whole_percent(1e-9) == "under 1 %"
    assert whole_percent(0.01) == "1 %"


def test_a_chance_is_told_to_the_thousandth_and_never_for_certain():
    """0.9849 is kept as 0.985, so that its sentence must say 99 % as the figure beside it does."""
    told = [told_chance(chance) for chance in (0.9849, 0.9996, 1.0, 0.0096)]
    assert told == [0.985, 0.999, 0.999, 0.01]
    assert [whole_percent(chance) for chance in told] == ["99 %", "99 %", "99 %", "1 %"]


@pytest.mark.parametrize("nearly", [-0.001, -0.004, Decimal("-0.001"), 0])
def test_nothing_has_no_minus(nearly):
    assert short(nearly) == "0"
    assert cut_tenths(float(nearly) / 1e6) == raised_tenths(float(nearly)) == "0"
