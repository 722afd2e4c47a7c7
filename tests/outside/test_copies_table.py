"""Copies to print against scipy.stats (binom, betabinom) and the table worked with it."""

import numpy as np
import pytest
from scipy.stats import betabinom, binom

from decaljobs.craft.film.copies import (
    CUTTING_AND_LAYING,
    SEALING,
    Success,
    chances_of_enough,
    copies_to_print,
)

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
    most = 2 * wanted + 12
    expected = [reference(wanted, copies, success) for copies in range(most + 1)]
    assert chances_of_enough(wanted, most, success) == pytest.approx(expected, abs=1e-11)


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
    assert copies_to_print(4, 0.95, 0.9, 0.92, 0.97).copies == 8


def chained(wanted, copies, first, second):
    """P(at least `wanted` good) of two steps: scipy.stats' betabinom summed over what is left."""
    left = np.arange(copies + 1)
    through = betabinom.pmf(left, copies, first.good, first.spoiled)
    enough = [betabinom.sf(wanted - 1, n, second.good, second.spoiled) for n in range(copies + 1)]
    return float(through @ np.array(enough))


CHAINS = [
    (SEALING.success, CUTTING_AND_LAYING.success),
    (Success(58, 2), Success(21, 19)),
    (Success(0.7, 0.4), Success(120, 3)),
]


@pytest.mark.parametrize("first, second", CHAINS, ids=str)
@pytest.mark.parametrize("wanted", [1, 2, 4, 8, 20])
def test_it_agrees_with_scipy_summed_over_the_survivors_of_a_step(wanted, first, second):
    most = 2 * wanted + 12
    expected = [chained(wanted, copies, first, second) for copies in range(most + 1)]
    assert chances_of_enough(wanted, most, first, second) == pytest.approx(expected, abs=1e-11)


@pytest.mark.parametrize("first, second", CHAINS[:2], ids=str)
@pytest.mark.parametrize("wanted", range(1, 9))
def test_it_agrees_with_scipy_on_the_smallest_number_of_a_chain(wanted, first, second):
    smallest = next(n for n in range(wanted, 200) if chained(wanted, n, first, second) >= 0.95)
    assert copies_to_print(wanted, first, second).copies == smallest


#: Smallest n for k = 1 to 8 by what is usual: scipy.stats.betabinom as in `chained`.
USUAL = [3, 5, 6, 8, 10, 12, 13, 15]


def test_so_many_copies_are_printed_of_one_to_eight_equal_decals():
    steps = (SEALING, CUTTING_AND_LAYING)
    assert [copies_to_print(k, *steps).copies for k in range(1, 9)] == USUAL
    first, second = CHAINS[0]
    for wanted, copies in enumerate(USUAL, 1):
        assert chained(wanted, copies, first, second) >= 0.95
        assert chained(wanted, copies - 1, first, second) < 0.95


def chained_with_lying(wanted, copies, lying, first, second):
    """As `chained`, with pieces that lie there before either step (scipy.stats.betabinom)."""
    before, between = lying
    left = np.arange(copies + before + 1)
    through = betabinom.pmf(left, copies + before, first.good, first.spoiled)
    enough = [betabinom.sf(wanted - 1, n + between, second.good, second.spoiled) for n in left]
    return float(through @ np.array(enough))


@pytest.mark.parametrize("first, second", CHAINS, ids=str)
@pytest.mark.parametrize("lying", [(0, 1), (2, 0), (1, 3), (0, 12)], ids=str)
@pytest.mark.parametrize("wanted", [1, 2, 4, 8])
def test_it_agrees_with_scipy_where_pieces_lie_there_already(wanted, lying, first, second):
    expected = [chained_with_lying(wanted, n, lying, first, second) for n in range(2 * wanted + 9)]
    chances = chances_of_enough(wanted, 2 * wanted + 8, first, second, lying=lying)
    assert chances == pytest.approx(expected, abs=1e-11)
    if max(expected) >= 0.95:
        smallest = next(n for n, chance in enumerate(expected) if chance >= 0.95)
        assert copies_to_print(wanted, first, second, lying=lying).copies == smallest


def test_a_chain_comes_out_as_it_does_when_it_is_played_through():
    """200,000 workshops drawn by numpy: each has its own two chances, the same for all copies."""
    draw, copies, wanted = np.random.default_rng(7), 8, 4
    sealing = draw.beta(18, 2, 200_000)
    laying = draw.beta(17, 3, 200_000)
    good = draw.binomial(draw.binomial(copies, sealing), laying)
    share = (good >= wanted).mean()
    chance = chances_of_enough(wanted, copies, SEALING, CUTTING_AND_LAYING)[-1]
    # Four standard deviations of such a share: 4 · sqrt(.04 · .96 / 200,000).
    assert chance == pytest.approx(share, abs=0.0018)
