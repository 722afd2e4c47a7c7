"""Small steps of a deal."""

from hypothesis import given, settings
from hypothesis import strategies as st

from decaljobs.craft.plan.dealsteps import DealSteps
from decaljobs.craft.plan.moves import seeded
from tests.craft.plan.deals import HIGH, deal_of, is_right, many_dealt, many_sessions, sessions_of
from tests.craft.plans import after, due, task

HOT, FROZEN = 1e9, 1e-9


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 1000))
def test_steps_keep_the_account_waits_and_windows_and_reach_far(seed):
    deal, met = many_dealt(many_sessions()), set()
    steps = DealSteps(deal, HIGH, seeded(seed))
    for number in range(60):
        steps.make(5, HOT if number % 3 else FROZEN, 0.0)
        assert is_right(deal)
        met.add(tuple(deal.place))
    assert len(met) > 10


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 1000))
def test_a_trade_costs_what_the_same_change_costs(seed):
    """The quick account and the full one are of one mind, with a guide and dislikes too."""
    deal, chance = many_dealt(many_sessions()), seeded(seed)
    deal.guided = 0.5
    deal.dislike([2, 4])
    for _ in range(40):
        task, there = int(chance() * 10), int(chance() * 4)
        inside = [other for other in deal.inside[there] if other != task]
        other = inside[0] if inside and chance() < 0.5 else -1
        if there == deal.place[task]:
            continue
        known, here = deal.known(), deal.place[task]
        deal.trade(task, there, other, float("inf"))
        traded = (deal.priced(), deal.over, deal.place[:])
        deal.put_back(known)
        deal.change({task: there} | ({other: here} if other >= 0 else {}), float("inf"))
        assert traded[1:] == (deal.over, deal.place)
        assert abs(traded[0] - deal.priced()) < 1e-6


def test_a_trade_that_costs_too_much_is_not_made():
    # 20 minutes too many at 100 each: 2,000 more where nothing is last and nobody late.
    tasks = [task("a", 100), task("b", 100), task("c", 10, after("a", 30), after("b", 30))]
    deal = deal_of(sessions_of(tasks), [0, 1, 3])
    assert not deal.trade(1, 0, -1, 1999.0)
    assert deal.place == [0, 1, 3]
    assert deal.trade(1, 0, -1, 2000.0)
    assert (deal.place, deal.over) == ([0, 0, 3], 20)


def test_two_tasks_change_places_where_neither_fits_in_alone():
    # 100 + 80 and 120 + 60 fill two evenings; any other pairs do not.
    tasks = [task(f"t{n}", length, project=f"p{n}") for n, length in enumerate((100, 60, 80, 120))]
    deal = deal_of(sessions_of(tasks, evenings=2), [0, 0, 1, 1], price=1e6)
    met = DealSteps(deal, [1] * 4, seeded(1)).make(400, FROZEN, float("inf"))
    assert met is not None
    assert met.place in ([0, 1, 0, 1], [1, 0, 1, 0])


def test_it_tells_only_of_deals_that_cost_less_and_fit():
    tasks = [task("a", 100, project="p0"), task("b", 100, project="p1")]
    sessions = sessions_of(tasks, [due("p0", 4), due("p1", 4)])
    deal = deal_of(sessions, [2, 3])
    steps = DealSteps(deal, [3, 3], seeded(3))
    known = deal.cost
    met = steps.make(200, FROZEN, known)
    assert met is not None and met.cost < known
    assert deal_of(sessions, met.place).over == 0
    assert steps.make(200, FROZEN, 0.0) is None


def test_of_a_few_sessions_each_is_as_likely():
    tasks = [task("a", 30), task("b", 30, after("a", 30))]
    steps = DealSteps(deal_of(sessions_of(tasks), [1, 3]), HIGH, seeded(1))
    drawn = [steps._session(0) for _ in range(1200)]
    # The other waits for it thirty hours, in the fourth evening: it may stand in the first two.
    assert set(drawn) == {0}
    free = DealSteps(deal_of(sessions_of(tasks[:1]), [1]), HIGH, seeded(1))
    drawn = [free._session(0) for _ in range(1200)]
    assert sorted(set(drawn)) == [0, 2, 3]
    assert min(map(drawn.count, set(drawn))) > 350
