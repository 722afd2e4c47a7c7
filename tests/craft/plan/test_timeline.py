"""A change tried in place must give just what placing everything anew gives."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decaljobs.craft.plan.guide import Guide, sorted_by_waits
from decaljobs.craft.plan.model import benches_of, build_model
from decaljobs.craft.plan.moves import Moves, seeded
from decaljobs.craft.plan.ranking import first_timeline
from decaljobs.craft.plan.timeline import Timeline
from tests.benchmarks.made_up_plans import made_up_plan, sessions_for
from tests.craft.plans import after, evening, plan_input, task


def model_of(plan_input):
    benches = benches_of(plan_input.moment, plan_input.sessions)
    return build_model(plan_input, plan_input.tasks, benches)


def timeline_of(seed, makers=("Ada",)):
    given = made_up_plan(seed, 4, 9, 1.0)
    sessions = [session for maker in makers for session in sessions_for(4, maker=maker)]
    model = model_of(plan_input(given.tasks, sessions, given.projects, given.moment))
    return first_timeline(model, Guide.of(model))


def state(timeline):
    slots = timeline.slots
    return (
        list(slots.place),
        [list(stretch) for stretch in slots.busy],
        [sorted(openers) for openers in slots.openers],
        list(timeline.end),
        list(timeline.project_end),
        timeline.tardiness,
        pytest.approx(timeline.pull),
    )


def anew(timeline):
    slots = timeline.slots
    return Timeline(timeline.model, list(slots.order), set(slots.unsprayed), timeline.guide)


@settings(deadline=None, max_examples=25)
@given(st.integers(0, 5), st.integers(0, 10**6), st.sampled_from([("Ada",), ("Ada", "Ben")]))
def test_moves_kept_and_undone_leave_the_plan_as_placed_anew(seed, chance_seed, makers):
    timeline = timeline_of(seed, makers)
    chance = seeded(chance_seed)
    moves = Moves(timeline, chance)
    for _ in range(60):
        move = moves.draw()
        if move is None:
            continue
        before = state(timeline)
        cost = timeline.attempt(move)
        fresh = anew(timeline)
        assert state(timeline) == state(fresh)
        assert cost == fresh.cost
        if chance() < 0.5:
            timeline.keep(cost)
        else:
            timeline.undo()
            assert state(timeline) == before


@settings(deadline=None, max_examples=25)
@given(st.integers(0, 5), st.integers(0, 10**6))
def test_no_move_puts_a_task_before_what_it_waits_for(seed, chance_seed):
    timeline = timeline_of(seed)
    moves = Moves(timeline, seeded(chance_seed))
    for _ in range(80):
        move = moves.draw()
        if move is None:
            continue
        timeline.keep(timeline.attempt(move))
        order, rank = timeline.slots.order, timeline.slots.rank
        assert sorted(order) == list(range(len(order)))
        assert [rank[task] for task in order] == list(range(len(order)))
        for later, waits in enumerate(timeline.model.before):
            assert all(rank[earlier] < rank[later] for earlier, _ in waits)


def test_a_task_of_lower_rank_fills_the_gap_that_a_wait_leaves():
    given = plan_input([task("base"), task("clear", 30, after("base", 1)), task("fret", 60)])
    timeline = Timeline(model_of(given), [0, 1, 2])
    assert timeline.slots.place[2][1:3] == (90, 150)


def test_a_session_kept_free_of_the_airbrush_is_not_sprayed_in():
    given = plan_input([task("seal", 30, airbrush=True)], [evening(0), evening(1)])
    model = model_of(given)
    assert Timeline(model, [0]).slots.place[0].session == 0
    assert Timeline(model, [0], [0]).slots.place[0].session == 1


def test_the_set_up_goes_into_an_idle_stretch_before_the_wait_is_over():
    given = plan_input([task("cut"), task("seal", 30, after("cut", 1), airbrush=True)])
    place = Timeline(model_of(given), [0, 1]).slots.place[1]
    assert (place.start, place.setup) == (60 + 30 + 60, 60 + 30 + 60 - 15)


def test_sorted_by_waits_puts_each_task_after_all_it_waits_for():
    given = plan_input([task("last", 30, after("mid")), task("mid", 30, after("one")), task("one")])
    assert sorted_by_waits(model_of(given)) == [2, 1, 0]
