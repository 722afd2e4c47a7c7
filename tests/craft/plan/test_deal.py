"""Deals of tasks to sessions, what they cost, and their changes."""

from hypothesis import given, settings
from hypothesis import strategies as st

from decaljobs.craft.plan.deal import DISLIKED, Deal, Ends
from decaljobs.craft.plan.dealmoves import DealMoves
from decaljobs.craft.plan.guide import Guide
from decaljobs.craft.plan.model import benches_of, build_model
from decaljobs.craft.plan.moves import seeded
from decaljobs.craft.plan.packing import Sessions
from tests.craft.plans import after, due, evening, plan_input, task

DAY = 24 * 60


def sessions_of(tasks, projects=(), evenings=4):
    asked = plan_input(tasks, [evening(day) for day in range(evenings)], projects)
    return Sessions(build_model(asked, asked.tasks, benches_of(asked.moment, asked.sessions)))


def deal_of(sessions, place, price=100.0):
    return Deal(sessions, place, Guide.of(sessions.model), price)


def test_late_projects_of_one_session_end_one_after_the_other():
    # From 19:00, both due at 19:00: the heavier of 60 minutes first, then the lighter of 30.
    tasks = [task("a", 60, project="p0"), task("b", 30, project="p1")]
    ends = Ends(sessions_of(tasks, [due("p0", 1, weight=3.0), due("p1", 1)]))
    assert ends.cost(0, 0b01) == 20 * 3 * 60
    assert ends.cost(0, 0b10) == 20 * 30
    assert ends.cost(0, 0b11) == 20 * (3 * 60 + 90)
    assert ends.cost(1, 0b10) == 20 * (30 + DAY)


def test_a_project_ends_when_its_last_task_does():
    tasks = [task("a", 60, project="p0"), task("b", 30, after("a", 12), project="p0")]
    deal = deal_of(sessions_of(tasks, [due("p0", 1)]), [0, 1])
    assert deal.cost == 20 * (DAY + 30) + (60 + DAY + 30)
    assert deal.change({1: 2}, float("inf"))
    assert deal.cost == 20 * (2 * DAY + 30) + (60 + 2 * DAY + 30)


def test_a_session_is_overfull_by_its_minutes_and_the_airbrush():
    tasks = [task("a", 100), task("b", 60, airbrush=True), task("c", 40, airbrush=True)]
    deal = deal_of(sessions_of(tasks), [0, 0, 0])
    assert deal.over == 100 + 60 + 40 + 30 - 180
    assert deal.change({2: 1}, float("inf"))
    assert deal.over == 100 + 60 + 30 - 180


def test_a_change_that_costs_too_much_is_not_made():
    tasks = [task("a", 100, project="p0"), task("b", 100, project="p1")]
    deal = deal_of(sessions_of(tasks, [due("p0", 99), due("p1", 99)]), [0, 1])
    known = (deal.place[:], deal.load[:], deal.cost)
    # The plan would end a day sooner, less 100 minutes, for 20 minutes too many at 100 each.
    saved = 2000 - (DAY - 100)
    assert not deal.change({1: 0}, saved - 1)
    assert (deal.place, deal.load, deal.cost) == known
    assert deal.change({1: 0}, saved)
    assert deal.over == 20


def test_overfull_sessions_become_dearer_and_others_cheaper_down_to_a_least():
    deal = deal_of(sessions_of([task("a", 100), task("b", 100)]), [0, 0])
    deal.lowest = 60.0
    deal.reprice(2.0, 0.5)
    assert deal.prices == [200.0, 60.0, 60.0, 60.0]


def test_what_is_disliked_counts_as_minutes_too_many_until_it_is_changed():
    deal = deal_of(sessions_of([task("a"), task("b")]), [0, 0])
    deal.dislike([0, 1])
    assert deal.over == DISLIKED
    assert deal.change({1: 1}, float("inf"))
    assert deal.over == 0


def many_tasks():
    tasks = [task(f"p{n}", 20 + 7 * n, project=f"m{n}", airbrush=n % 3 == 0) for n in range(6)]
    return tasks + [
        task(f"l{n}", 40, after(f"p{n}", 12), project=f"m{n}", also_for=("m5",)[: n % 2])
        for n in range(4)
    ]


def drawn_often(sessions, high, seed, times=150):
    deal = deal_of(sessions, [0] * 6 + [1] * 4)
    moves = DealMoves(deal, high, seeded(seed))
    for number in range(times):
        changes = moves.draw()
        if changes:
            deal.change(changes, float("inf") if number % 3 else 0.0)
        yield deal


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 1000))
def test_the_account_stays_right(seed):
    """Whatever is changed or refused, it costs what a deal made anew would cost."""
    sessions = sessions_of(many_tasks(), [due(f"m{n}", 5 + 20 * n) for n in range(6)])
    for deal in drawn_often(sessions, [3] * 10, seed):
        anew = deal_of(sessions, deal.place)
        assert (deal.load, deal.sprays, deal.ending) == (anew.load, anew.sprays, anew.ending)
        assert (deal.over, deal.excess, deal.end) == (anew.over, anew.excess, anew.end)
        assert abs(deal.cost - anew.cost) < 1e-6


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 1000))
def test_changes_keep_waits_and_windows_and_reach_far(seed):
    met, high = set(), [3, 0, 3, 3, 3, 3, 3, 2, 3, 3]
    for deal in drawn_often(sessions_of(many_tasks()), high, seed):
        assert all(deal.place[n] < deal.place[6 + n] for n in range(4))
        assert all(there <= last for there, last in zip(deal.place, high, strict=True))
        met.add(tuple(deal.place))
    assert len(met) > 20


def test_two_projects_change_places():
    tasks = [task("a", project="p0"), task("b", 30, after("a", 12), project="p0")]
    tasks += [task("c", project="p1"), task("d", 30, after("c", 12), project="p1")]
    deal = deal_of(sessions_of(tasks), [0, 1, 2, 3])
    draws = iter([0.0, 0.0, 0.9, 0.9])  # to exchange, of the first, with the last, all of it
    assert DealMoves(deal, [3] * 4, lambda: next(draws)).draw() == {0: 2, 1: 3, 2: 0, 3: 1}
