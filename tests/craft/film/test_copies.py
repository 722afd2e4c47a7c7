from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decaljobs.craft.film.copies import (
    CUTTING_AND_LAYING,
    SEALING,
    Success,
    chances_of_enough,
    copies_each,
    copies_to_print,
    dealt,
)

#: What is usual over the whole chain where it is taken as one step.
WHOLE_CHAIN = Success(8, 2)


def test_it_takes_the_smallest_number_that_is_sure_enough():
    proposed = copies_to_print(4, WHOLE_CHAIN)
    assert proposed.copies == 8
    assert proposed.chance >= 0.95 > proposed.one_fewer


def test_it_does_not_ask_for_a_second_copy_where_one_is_exactly_sure_enough():
    assert copies_to_print(1, 0.95).copies == 1


def test_fixed_chances_of_steps_one_after_another_multiply():
    chances = chances_of_enough(4, 12, 0.95, 0.9, 0.92, 0.97)
    assert chances == pytest.approx(chances_of_enough(4, 12, 0.95 * 0.9 * 0.92 * 0.97))
    assert copies_to_print(4, 0.95, 0.9, 0.92, 0.97).copies == 8


def test_a_step_that_nothing_is_lost_in_changes_nothing():
    assert chances_of_enough(3, 9, SEALING, 1.0) == pytest.approx(chances_of_enough(3, 9, SEALING))


def test_the_order_of_the_steps_does_not_matter():
    there = chances_of_enough(3, 30, SEALING, CUTTING_AND_LAYING, 0.9)
    assert there == pytest.approx(chances_of_enough(3, 30, 0.9, CUTTING_AND_LAYING, SEALING))


def test_what_is_usual_of_both_steps_asks_for_as_many_as_of_the_whole_chain():
    """Beta(18, 2) and Beta(17, 3) one after the other were meant to be near Beta(8, 2)."""
    for wanted in (1, 2, 4, 8):
        both = copies_to_print(wanted, SEALING, CUTTING_AND_LAYING).copies
        assert both == copies_to_print(wanted, WHOLE_CHAIN).copies


def test_it_learns_from_the_makers_record():
    careful = WHOLE_CHAIN.with_record(good=60, spoiled=0)
    assert copies_to_print(4, careful).copies < copies_to_print(4, WHOLE_CHAIN).copies


def test_a_step_learns_from_its_own_record_alone():
    clumsy = replace(CUTTING_AND_LAYING, good=2, spoiled=8)
    assert clumsy.success == Success(19, 11)
    assert copies_to_print(1, SEALING, clumsy).copies > 3
    assert copies_to_print(1, SEALING, clumsy).steps == (
        "printing and sealing 90 % (usual)",
        "cutting and laying 63 % (usual and 10 own)",
    )


def test_it_says_why():
    assert copies_to_print(4, WHOLE_CHAIN).reason.startswith(
        "4 wanted; come out good: 80 %. 8 copies give at least 4 with 9"
    )
    assert copies_to_print(1, 0.99).reason == (
        "1 wanted; come out good: 99 %. 1 copy gives at least 1 with 99 %."
    )


def test_it_names_each_step_with_its_numbers():
    # 0.9 · 0.85 of one; the chances of 2 and 3 copies are summed in tests/outside.
    assert copies_to_print(1, SEALING, CUTTING_AND_LAYING).reason == (
        "1 wanted; come out good: printing and sealing 90 % (usual), "
        "cutting and laying 85 % (usual). "
        "3 copies give at least 1 with 98 %, 2 copies with 94 %."
    )


def test_it_never_says_certain_for_what_is_not():
    assert "100 %" not in copies_to_print(2, 0.9999).reason


def test_it_never_says_of_one_copy_fewer_that_it_has_the_chance_asked_for():
    # 0.948 is 95 whole percent, and less than the 95 % that were asked for.
    assert copies_to_print(1, 0.948).reason.endswith(", 1 copy with just under 95 %.")
    assert copies_to_print(1, 0.944).reason.endswith(", 1 copy with 94 %.")


def test_it_says_what_lies_there_already_and_how_many_more_are_wanted():
    assert copies_to_print(4, 0.8, lying=[3]).reason == (
        "4 wanted, 3 lie here; come out good: 80 %. "
        "4 more give at least 4 with 97 %, 3 more with 90 %."
    )
    assert "1 wanted, 1 lies here" in copies_to_print(1, 0.5, lying=[1]).reason
    assert copies_to_print(1, 0.99, lying=[1]).reason.endswith("It gives at least 1 with 99 %.")


@given(st.integers(1, 9), st.integers(0, 9), st.integers(0, 9))
def test_what_lies_there_never_makes_more_copies_wanted(wanted, unsealed, sealed):
    steps = (SEALING, CUTTING_AND_LAYING)
    without = copies_to_print(wanted, *steps).copies
    found = copies_to_print(wanted, *steps, lying=[unsealed, sealed]).copies
    # One that still has both steps before it is as good as a copy, a sealed one no worse.
    assert max(0, wanted - unsealed - sealed) <= found <= max(0, without - unsealed - sealed)


@pytest.mark.parametrize("lying", [[1], [0, 0, 1], [-1, 0], [0, 2001]])
def test_it_rejects_lying_pieces_that_fit_no_steps(lying):
    with pytest.raises(ValueError, match="one number a step is needed, each 0 to 2000"):
        copies_to_print(1, SEALING, CUTTING_AND_LAYING, lying=lying)


@given(st.integers(0, 60), st.lists(st.integers(0, 9), min_size=1, max_size=12))
def test_copies_are_dealt_to_whoever_has_fewest(copies, lying):
    shares = dealt(copies, lying)
    assert sum(shares) == copies
    after = [there + share for there, share in zip(lying, shares, strict=True)]
    fewest = min(after)
    assert all(have <= fewest + 1 for have, share in zip(after, shares, strict=True) if share)


def test_they_are_dealt_out_evenly_the_first_get_what_is_over():
    assert dealt(8, [0] * 4) == [2, 2, 2, 2]
    assert dealt(9, [0] * 4) == [3, 2, 2, 2]
    assert dealt(2, [3, 0, 1]) == [0, 2, 0]
    with pytest.raises(ValueError, match="at least one is needed"):
        dealt(1, [])


def test_more_than_can_be_planned_at_one_go_have_the_share_of_those():
    assert copies_each(4, WHOLE_CHAIN) == 2.0
    assert copies_each(900, WHOLE_CHAIN) == copies_each(500, WHOLE_CHAIN)


@given(
    st.integers(1, 12),
    st.floats(0.2, 1.0),
    st.floats(0.5, 0.999),
)
def test_it_is_sure_enough_and_not_one_copy_more(wanted, success, sureness):
    proposed = copies_to_print(wanted, success, sureness=sureness)
    chances = chances_of_enough(wanted, proposed.copies, success)
    assert chances[-1] >= sureness - 1e-8
    if proposed.copies > wanted:
        assert chances[-2] < sureness


@given(st.integers(0, 20), st.floats(0.5, 40), st.floats(0.5, 40))
def test_it_gives_chances_between_nought_and_one_that_fall_with_the_number_wanted(n, a, b):
    chances = [chances_of_enough(k, n, Success(a, b), SEALING)[-1] for k in range(n + 2)]
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
        copies_to_print(1)
    with pytest.raises(ValueError, match="above 0"):
        Success(0, 2)
    with pytest.raises(ValueError, match="below 0"):
        WHOLE_CHAIN.with_record(good=-1, spoiled=0)
