"""How far a hand strays, from a test strip."""

import numpy as np
import pytest

from decaljobs.craft.knife.hand import Hand, spread_of


def test_the_spread_is_that_of_the_hand_that_cut():
    # numpy's generator as the reference: root mean square of 20,000 draws of a known spread.
    drawn = np.random.default_rng(3).normal(0, 0.18, 20_000)
    assert spread_of(list(drawn)) == pytest.approx(0.18, rel=0.02)


def test_a_hand_that_always_cuts_outside_strays_too():
    assert spread_of([0.2] * 10) == pytest.approx(0.2)


@pytest.mark.parametrize("offsets", [[0.1] * 4, [0.1] * 9 + [6.0], [float("nan")] * 6])
def test_it_refuses_offsets_that_say_nothing(offsets):
    with pytest.raises(ValueError, match="offset"):
        spread_of(offsets)


@pytest.mark.parametrize("knife", [0.0, 3.0, float("nan")])
def test_it_refuses_a_hand_out_of_range(knife):
    with pytest.raises(ValueError, match=r"0.005 to 2"):
        Hand(knife, 0.15)
