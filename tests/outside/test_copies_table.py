"""Copies to print against scipy.stats (binom, betabinom) and the table worked with it."""

import pytest
from scipy.stats import betabinom, binom

from decaljobs.craft.copies import Success, chance_of_enough, copies_to_print

CHANCES = [0.95, 0.9, 0.8, 0.7, 0.6, 0.5, Success(8, 2), Success(18, 2), Success(26, 4)]

#: Smallest n with P(at least k good) ≥ 0.95, from scipy.stats.binom and betabinom.
TABLE = {
    1: [1, 2, 2, 3, 4, 5, 3, 2, 2],
    2: [3, 3, 4, 5, 6, 8, 5, 3, 4],
    4: [5, 6, 7, 9, 11, 13, 8, 6, 6],
    8: [10, 11, 13, 16, 19, 23, 15, 11, 12],
}


def reference(wanted, copies, success):
    """P(at least `wanted` good) by scipy.stats' survival function."""
    if isinstance(success, Success):
        return betabinom.sf(wanted - 1, copies, success.good, success.spoiled)
    return binom.sf(wanted - 1, copies, success)


@pytest.mark.parametrize("wanted", TABLE)
def test_it_gives_the_copies_of_the_table(wanted):
    assert [copies_to_print(wanted, chance).copies for chance in CHANCES] == TABLE[wanted]


@pytest.mark.parametrize("success", CHANCES, ids=str)
@pytest.mark.parametrize("wanted", [1, 2, 3, 5, 8, 13, 40])
def test_it_agrees_with_scipy_on_the_chance(wanted, success):
    for copies in range(wanted, 2 * wanted + 12):
        assert chance_of_enough(wanted, copies, success) == pytest.approx(
            reference(wanted, copies, success), abs=1e-11
        )


@pytest.mark.parametrize("success", CHANCES, ids=str)
@pytest.mark.parametrize("sureness", [0.8, 0.9, 0.99])
def test_it_agrees_with_scipy_on_the_smallest_number(success, sureness):
    for wanted in (1, 3, 6, 20):
        smallest = next(
            n for n in range(wanted, 500) if reference(wanted, n, success) >= sureness - 1e-12
        )
        assert copies_to_print(wanted, success, sureness=sureness).copies == smallest


def test_it_gives_the_copies_for_steps_one_after_another():
    # .95 · .9 · .92 · .97 = .763002 and k = 4 need n = 8 (scipy.stats.binom).
    assert reference(4, 8, 0.763002) >= 0.95 > reference(4, 7, 0.763002)
    assert copies_to_print(4, 0.95 * 0.9 * 0.92 * 0.97).copies == 8
