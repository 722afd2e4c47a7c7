import pytest

from decaljobs.craft.plan.budget import Budget


def test_it_is_spent_by_the_clock():
    ticks = iter([100.0, 100.0, 102.5, 105.0])
    budget = Budget(5.0, clock=lambda: next(ticks))
    assert [budget.spent(0) for _ in range(3)] == [0.0, 0.5, 1.0]


def test_it_is_spent_by_tries_without_asking_the_clock():
    def stopped():
        raise AssertionError("the clock was asked")

    budget = Budget(5.0, 10, stopped)
    assert [budget.spent(tries) for tries in (0, 5, 20)] == [0.0, 0.5, 2.0]


def test_nothing_given_is_spent_at_once():
    assert Budget(0.0).spent(0) == Budget(5.0, 0).spent(0) == 1.0


@pytest.mark.parametrize("seconds, iterations", [(-1.0, None), (1.0, -1)])
def test_it_rejects_less_than_nothing(seconds, iterations):
    with pytest.raises(ValueError, match="must be 0 or more"):
        Budget(seconds, iterations)


def test_a_part_ends_with_its_share_of_the_whole():
    ticks = iter([100.0, 101.0, 102.5, 104.0])
    part = Budget(5.0, clock=lambda: next(ticks)).until(0.8)
    assert [part.spent(0) for _ in range(2)] == [0.5, 1.0]
    assert Budget(5.0, 10).until(0.4).iterations == 4


def test_a_part_that_is_over_when_it_begins_is_spent():
    ticks = iter([100.0, 104.0])
    assert Budget(5.0, clock=lambda: next(ticks)).until(0.4).spent(0) == 1.0


def test_a_part_is_a_share_of_the_whole_but_no_more_than_is_left():
    now = 0.0
    whole = Budget(10.0, clock=lambda: now)
    now = 7.0
    part = whole.part(0.2, tries=0)
    assert part.seconds == 2.0 and part.spent(0) == 0.0
    assert whole.part(0.5, tries=0).seconds == pytest.approx(3.0)
    now = 12.0
    assert whole.part(0.5, tries=0).seconds == 0.0


def test_a_part_of_counted_tries_has_one_at_the_least():
    whole = Budget(0.0, iterations=100)
    assert whole.part(0.2, tries=50).iterations == 20
    assert whole.part(0.2, tries=90).iterations == 10
    assert whole.part(0.2, tries=100).iterations == 1
