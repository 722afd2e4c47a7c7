"""Great changes of a deal: the spraying of a session moves."""

from hypothesis import given, settings
from hypothesis import strategies as st

from decaljobs.craft.plan.dealmoves import DealMoves
from decaljobs.craft.plan.dealsprays import DealSprays
from decaljobs.craft.plan.dealsteps import DealSteps
from decaljobs.craft.plan.moves import seeded
from tests.craft.plan.deals import HIGH, deal_of, is_right, many_dealt, many_sessions, sessions_of
from tests.craft.plans import after, task

HOT, FROZEN = 1e9, 1e-9


def sprays_of(deal, high, seed=1):
    chance = seeded(seed)
    return DealSprays(deal, DealMoves(deal, high, chance), DealSteps(deal, high, chance))


@settings(deadline=None, max_examples=20)
@given(st.integers(0, 1000))
def test_the_account_stays_right_whether_it_is_undone_or_not(seed):
    deal = many_dealt(many_sessions())
    sprays = sprays_of(deal, HIGH, seed)
    for number in range(20):
        sprays.change(HOT, HOT if number % 3 else FROZEN, 0.0)
        assert is_right(deal)


def sprayed_twice():
    """Two evenings with two sprayed tasks each; that one of them moves alone saves nothing."""
    tasks = [task(f"s{n}", 20, project=f"p{n}", airbrush=True) for n in range(4)]
    tasks.append(task("last", 10, *(after(f"s{n}", 30) for n in range(4)), project="p9"))
    return sessions_of(tasks, evenings=4)


def test_the_spraying_of_two_sessions_comes_together():
    deal = deal_of(sprayed_twice(), [0, 0, 1, 1, 3])
    sprays = sprays_of(deal, [3] * 5)
    sprays.steps.make = lambda *_: None  # what it does by itself
    for _ in range(100):
        sprays.change(FROZEN, FROZEN, 0.0)
    assert sum(count > 0 for count in deal.sprays) == 1


def test_what_does_not_please_is_undone():
    # All spraying stands together already: any other session is dearer or the same.
    deal = deal_of(sprayed_twice(), [0, 0, 0, 0, 3])
    sprays = sprays_of(deal, [3] * 5)
    known = deal.priced()
    for _ in range(100):
        sprays.change(FROZEN, FROZEN, 0.0)
        assert deal.priced() <= known
    assert sum(count > 0 for count in deal.sprays) == 1
