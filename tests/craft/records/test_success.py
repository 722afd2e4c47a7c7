"""Success rates with their range, or said to be too few."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import beta

from decaljobs.craft.records.success import rate_of


@given(st.integers(0, 500), st.integers(0, 500))
def test_ranges_agree_with_scipy(good, spoiled):
    """Source: scipy.stats.beta, equal tails of Beta(1 + good, 1 + spoiled)."""
    rate = rate_of(good, spoiled)
    low, high = beta.interval(0.9, 1 + good, 1 + spoiled)
    assert (rate.low, rate.high) == pytest.approx((low, high), abs=1e-9)


def test_too_few_is_said_and_not_shown():
    assert rate_of(3, 1).words == "too few yet (4)"
    # scipy.stats.beta.interval(0.9, 5, 2) is 0.418 to 0.937.
    assert rate_of(4, 1).words == "80 % of 5 (42 to 94 %)"
