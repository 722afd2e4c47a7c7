"""Tasks dealt to sessions by their minutes alone."""

from decaljobs.craft.planmodel import benches_of, build_model
from decaljobs.craft.planmoves import seeded
from decaljobs.craft.planpacking import Packing, Sessions
from tests.craft.plans import after, evening, plan_input, task


def sessions_of(tasks, evenings=3):
    given = plan_input(tasks, [evening(day) for day in range(evenings)])
    return Sessions(build_model(given, given.tasks, benches_of(given.moment, given.sessions)))


def test_a_task_is_no_sooner_than_its_waits_allow():
    # 23 h after a task of 30 minutes that begins at 19:00, the next evening has begun at 18:30.
    tasks = [task("print"), task("cut", 30, after("print", 23)), task("lay", 30, after("cut", 24))]
    assert sessions_of(tasks).low == [0, 1, 2]


def test_a_promise_says_until_when_each_task_has_to_be_done():
    tasks = [task("print"), task("cut", 30, after("print", 12)), task("lay", 30, after("cut", 12))]
    sessions = sessions_of(tasks, 4)
    assert sessions.windows([3]) == [1, 2, 3]
    assert sessions.windows([1]) is None  # the third evening is the soonest


def test_a_promise_is_refused_if_the_sessions_up_to_there_hold_too_little():
    tasks = [task("a", 100), task("b", 100, project="tram")]
    assert sessions_of(tasks).windows([0, 0]) is None
    assert sessions_of(tasks).windows([0, 1]) == [0, 1]


def test_changes_deal_the_tasks_so_that_no_session_holds_too_much():
    # Only 100 + 80 and 120 + 60 fill two evenings of 180 minutes.
    tasks = [task(name, minutes) for name, minutes in (("a", 100), ("b", 60), ("c", 80))]
    sessions = sessions_of([*tasks, task("d", 120)], 2)
    packing = Packing(sessions, [1, 1, 1, 1], seeded(1))
    assert packing.over == 180  # all of it stands in the first evening
    for _ in range(300):
        packing.change(2.0)
        if packing.over == 0:
            break
    assert packing.over == 0
    assert packing.load == [180, 180]
    assert packing.place[0] == packing.place[2] != packing.place[1] == packing.place[3]


def test_changes_take_along_what_waits():
    tasks = [task("print"), task("cut", 30, after("print", 12)), task("lay", 30, after("cut", 12))]
    sessions = sessions_of(tasks, 6)
    packing, met = Packing(sessions, sessions.windows([5]), seeded(2)), set()
    for _ in range(200):
        packing.change(50.0)
        met.add(tuple(packing.place))
        first, second, third = packing.place
        assert first < second < third
        assert sum(packing.load) == 90
    assert len(met) > 5


def test_the_airbrush_takes_its_minutes_once_in_a_session():
    tasks = [task("coat", 90, airbrush=True), task("over", 60, airbrush=True)]
    sessions = sessions_of(tasks)
    packing = Packing(sessions, [2, 2], seeded(1))
    assert packing.over == 0  # 90 + 60 and twice 15 fill the evening
    assert packing.unsprayed() == [1, 2]


def test_what_others_wait_for_comes_first_in_its_session():
    # 24 h of drying: what begins it late in the evening holds up the next evening's work.
    tasks = [task("cut"), task("lay", 60, after("seal", 24)), task("seal")]
    sessions = sessions_of(tasks)
    packing = Packing(sessions, [0, 1, 0], seeded(1))
    assert packing.order() == [2, 0, 1]
