import pytest
from hypothesis import given
from hypothesis import strategies as st

from decaljobs.craft.copies import (
    CUTTING_AND_LAYING,
    SEALING,
    WHOLE_CHAIN,
    Success,
    chain,
    chance_of_enough,
    copies_to_print,
)


def test_it_takes_the_smallest_number_that_is_sure_enough():
    proposed = copies_to_print(4, WHOLE_CHAIN)
    assert proposed.copies == 8
    assert proposed.chance >= 0.95 > proposed.one_fewer


def test_it_does_not_ask_for_a_second_copy_where_one_is_exactly_sure_enough():
    assert copies_to_print(1, 0.95).copies == 1


def test_it_multiplies_fixed_chances_of_steps_one_after_another():
    success = chain([0.95, 0.9, 0.92, 0.97])
    assert success == pytest.approx(0.763002)
    assert copies_to_print(4, success).copies == 8


def test_it_keeps_mean_and_spread_of_steps_that_are_only_guessed_at():
    joint = chain([SEALING, CUTTING_AND_LAYING])
    assert joint.mean == pytest.approx(0.9 * 0.85)
    total = joint.good + joint.spoiled
    # E[p²] of a Beta is mean · (good + 1) ÷ (total + 1); the product's is the product of both.
    sealing_square = 0.9 * 19 / 21
    laying_square = 0.85 * 18 / 21
    assert joint.mean * (joint.good + 1) / (total + 1) == pytest.approx(
        sealing_square * laying_square
    )


def test_it_leaves_a_chain_of_one_step_as_it_is():
    only = chain([SEALING])
    assert (only.good, only.spoiled) == (pytest.approx(18), pytest.approx(2))


def test_it_learns_from_the_makers_record():
    careful = WHOLE_CHAIN.with_record(good=60, spoiled=0)
    assert copies_to_print(4, careful).copies < copies_to_print(4, WHOLE_CHAIN).copies


def test_it_says_why():
    assert copies_to_print(4, WHOLE_CHAIN).reason.startswith(
        "4 wanted, 8 of 10 pieces come out good: 8 copies give at least 4 with 9"
    )
    assert copies_to_print(1, 0.99).reason == (
        "1 wanted, 99 of 100 pieces come out good: 1 copy gives at least 1 with 99 %."
    )


def test_it_never_says_certain_for_what_is_not():
    assert "100 %" not in copies_to_print(2, 0.9999).reason


@given(
    st.integers(1, 12),
    st.floats(0.2, 1.0),
    st.floats(0.5, 0.999),
)
def test_it_is_sure_enough_and_not_one_copy_more(wanted, success, sureness):
    proposed = copies_to_print(wanted, success, sureness=sureness)
    assert chance_of_enough(wanted, proposed.copies, success) >= sureness - 1e-8
    if proposed.copies > wanted:
        assert chance_of_enough(wanted, proposed.copies - 1, success) < sureness


@given(st.integers(0, 20), st.floats(0.5, 40), st.floats(0.5, 40))
def test_it_gives_chances_between_nought_and_one_that_fall_with_the_number_wanted(n, a, b):
    chances = [chance_of_enough(k, n, Success(a, b)) for k in range(n + 2)]
    assert chances[0] == pytest.approx(1.0)
    assert chances[-1] == pytest.approx(0.0, abs=1e-9)
    assert all(x >= y - 1e-12 for x, y in zip(chances, chances[1:], strict=False))


@pytest.mark.parametrize(
    "wanted, success, sureness, allowed",
    [
        (0, 0.9, 0.95, "1 to 500"),
        (501, 0.9, 0.95, "1 to 500"),
        (1, 0.0, 0.95, "above 0 and up to 1"),
        (1, 1.1, 0.95, "above 0 and up to 1"),
        (1, float("nan"), 0.95, "above 0 and up to 1"),
        (1, 0.9, 1.0, "0.5 to 0.999"),
        (1, 0.001, 0.95, "2000 copies"),
    ],
)
def test_it_rejects_what_is_out_of_range_and_names_the_range(wanted, success, sureness, allowed):
    with pytest.raises(ValueError, match=allowed):
        copies_to_print(wanted, success, sureness=sureness)


def test_it_rejects_an_empty_chain_and_a_distribution_that_is_none():
    with pytest.raises(ValueError, match="at least one"):
        chain([])
    with pytest.raises(ValueError, match="above 0"):
        Success(0, 2)
    with pytest.raises(ValueError, match="below 0"):
        WHOLE_CHAIN.with_record(good=-1, spoiled=0)
