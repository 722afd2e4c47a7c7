"""Trades of work between sessions that are full to the minute."""

import pytest

from decaljobs.craft.plan.guide import Guide
from decaljobs.craft.plan.model import benches_of, build_model
from decaljobs.craft.plan.moves import seeded
from decaljobs.craft.plan.timeline import Timeline
from decaljobs.craft.plan.trades import trade
from tests.craft.plans import after, evening, plan_input, task

DRAWS = 200


def timeline_of(tasks, order, sessions=None):
    given = plan_input(tasks, sessions or [evening(day) for day in range(3)])
    model = build_model(given, given.tasks, benches_of(given.moment, given.sessions))
    return Timeline(model, order, guide=Guide.of(model))


def costs(timeline):
    """The cost after each of many drawn trades."""
    chance, found = seeded(1), set()
    for _ in range(DRAWS):
        move = trade(timeline, chance)
        if move is not None:
            found.add(timeline.attempt(move))
            timeline.undo()
    return found


def test_it_fills_a_session_up_with_work_that_passed_it_over():
    # 100 + 60 leave 20 minutes idle; 100 + 80 fill the evening, and 60 + 40 the next.
    tasks = [task("a", 100), task("b", 60), task("c", 80), task("d", 120)]
    timeline = timeline_of(tasks, [0, 1, 2, 3])
    assert timeline.slots.room(0) == 20
    assert timeline.cost == 60 + 2 * 24 * 60 + 120
    assert min(costs(timeline)) == 60 + 24 * 60 + 180


def test_it_lets_two_in_for_one_that_leaves():
    tasks = [task("a", 100), task("b", 60), task("c", 40), task("d", 40), task("e", 120)]
    timeline = timeline_of(tasks, [0, 1, 2, 3, 4])
    assert min(costs(timeline)) < timeline.cost


def test_it_draws_nothing_where_no_work_waits_for_room():
    assert costs(timeline_of([task("a", 60), task("b", 60)], [0, 1])) == set()


@pytest.mark.parametrize("seed", range(5))
def test_it_keeps_every_task_after_what_it_waits_for(seed):
    tasks = [task("a", 100), task("b", 60), task("c", 80, after("b")), task("d", 120, after("a"))]
    timeline, chance = timeline_of(tasks, [0, 1, 2, 3]), seeded(seed)
    for _ in range(DRAWS):
        move = trade(timeline, chance)
        if move is None:
            continue
        timeline.keep(timeline.attempt(move))
        rank = timeline.slots.rank
        assert rank[1] < rank[2] and rank[0] < rank[3]


def test_room_counts_the_cleaning_of_the_airbrush():
    timeline = timeline_of([task("seal", 30, airbrush=True), task("cut", 60)], [0, 1])
    assert timeline.slots.room(0) == 180 - 30 - 60 - 2 * 15
    assert timeline.slots.room(1) == 180
