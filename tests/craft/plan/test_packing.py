"""Tasks dealt to sessions by their minutes alone."""

from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from decaljobs.craft.plan.model import benches_of, build_model
from decaljobs.craft.plan.moves import seeded
from decaljobs.craft.plan.packing import DISLIKED, SPRAYED_TOO_OFTEN, Packing, Sessions
from tests.craft.plans import after, evening, plan_input, task

DAY = 24 * 60
LATE = 60 * DAY  # no bound on the plan's end


def sessions_of(tasks, evenings=3):
    asked = plan_input(tasks, [evening(day) for day in range(evenings)])
    return Sessions(build_model(asked, asked.tasks, benches_of(asked.moment, asked.sessions)))


def evening_end(day):
    """The end of an evening, in minutes after the Monday's 18:00."""
    return 4 * 60 + day * DAY


def packing_of(sessions, high, seed=1, until=LATE, sprayed=99):
    return Packing(sessions, high, seeded(seed), until, sprayed)


def test_a_task_is_no_sooner_than_its_waits_allow():
    # 23 h after a task of 30 minutes that begins at 19:00, the next evening has begun at 18:30.
    tasks = [task("print"), task("cut", 30, after("print", 23)), task("lay", 30, after("cut", 24))]
    assert sessions_of(tasks).low == [0, 1, 2]


def test_limits_say_until_which_session_each_task_has_to_be_done():
    tasks = [task("print"), task("cut", 30, after("print", 12)), task("lay", 30, after("cut", 12))]
    sessions = sessions_of(tasks, 4)
    assert sessions.windows([LATE, LATE, evening_end(3)]) == [1, 2, 3]
    assert sessions.windows([LATE, LATE, evening_end(1)]) is None  # the third is the soonest


def test_limits_are_refused_if_the_sessions_up_to_there_hold_too_little():
    sessions = sessions_of([task("a", 100), task("b", 100, project="tram")])
    assert sessions.windows([evening_end(0), evening_end(0)]) is None
    assert sessions.windows([evening_end(0), evening_end(1)]) == [0, 1]


def test_limits_are_refused_if_the_sessions_between_hold_too_little():
    # Both coats stay in the second evening: 80 + 80 and twice 15 for the airbrush.
    tasks = [task("print"), task("a", 80, after("print", 12), airbrush=True)]
    sessions = sessions_of([*tasks, task("b", 80, after("print", 12), airbrush=True)])
    assert sessions.windows([LATE, evening_end(1), evening_end(1)]) is None
    tasks[1] = task("a", 70, after("print", 12), airbrush=True)
    sessions = sessions_of([*tasks, task("b", 80, after("print", 12), airbrush=True)])
    assert sessions.windows([LATE, evening_end(1), evening_end(1)]) == [0, 1, 1]


def test_it_counts_the_sessions_that_have_to_spray():
    tasks = [task(name, airbrush=True) for name in ("a", "b")]
    sessions = sessions_of([*tasks, task("c", 30, after("b", 12), airbrush=True)])
    assert sessions.least_sprayed([2, 0, 2]) == 2
    assert sessions.least_sprayed([2, 1, 2]) == 1  # all three may meet in the second evening


def test_changes_deal_the_tasks_so_that_no_session_holds_too_much():
    # Only 100 + 80 and 120 + 60 fill two evenings of 180 minutes.
    tasks = [task(name, minutes) for name, minutes in (("a", 100), ("b", 60), ("c", 80))]
    packing = packing_of(sessions_of([*tasks, task("d", 120)], 2), [1, 1, 1, 1])
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
    packing, met = packing_of(sessions_of(tasks, 6), [3, 4, 5], seed=2), set()
    for _ in range(200):
        packing.change(50.0)
        met.add(tuple(packing.place))
        first, second, third = packing.place
        assert first < second < third
        assert sum(packing.load) == 90
    assert len(met) > 5


def test_nothing_changes_where_no_task_can_leave():
    packing = packing_of(sessions_of([task("a")]), [0])
    packing.change(50.0)
    assert packing.place == [0]


def test_the_airbrush_takes_its_minutes_once_in_a_session():
    tasks = [task("coat", 90, airbrush=True), task("over", 60, airbrush=True)]
    packing = packing_of(sessions_of(tasks), [2, 2])
    assert packing.over == 0  # 90 + 60 and twice 15 fill the evening
    assert packing.unsprayed() == [1, 2]


def test_the_plan_may_have_to_end_before_its_session_does():
    # Set-up, 60 minutes of spraying, and cleaning that no longer counts: 19:00 to 20:15.
    sessions = sessions_of([task("coat", 60, airbrush=True)])
    assert packing_of(sessions, [2], until=135).over == 0
    assert packing_of(sessions, [2], until=125).over == 10


def test_spraying_in_too_many_sessions_counts_as_minutes_too_many():
    tasks = [task("coat", airbrush=True), task("over", 30, after("coat", 12), airbrush=True)]
    assert packing_of(sessions_of(tasks), [1, 2], sprayed=2).over == 0
    assert packing_of(sessions_of(tasks), [1, 2], sprayed=1).over == SPRAYED_TOO_OFTEN


def test_what_is_disliked_counts_as_minutes_too_many_until_it_is_changed():
    packing = packing_of(sessions_of([task("a"), task("b")]), [2, 2])
    packing.dislike(0)
    assert packing.over == DISLIKED
    while packing.place == [0, 0]:
        packing.change(100.0)
    assert packing.over == 0
    packing.begin_anew()
    assert (packing.place, packing.over) == ([0, 0], DISLIKED)


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.tuples(st.integers(10, 120), st.booleans()), min_size=2, max_size=5),
    st.lists(st.integers(0, 2), min_size=5, max_size=5),
)
def test_what_is_refused_can_be_packed_by_nobody(pieces, last):
    """Held against every way to deal the tasks to three evenings."""
    tasks = [task(f"t{n}", minutes, airbrush=air) for n, (minutes, air) in enumerate(pieces)]
    sessions = sessions_of(tasks)
    if sessions.windows([evening_end(day) for day in last[: len(tasks)]]) is not None:
        return
    for place in product(*(range(day + 1) for day in last[: len(tasks)])):
        held = [0, 0, 0]
        for (minutes, _), session in zip(pieces, place, strict=True):
            held[session] += minutes
        for session in {s for (_, air), s in zip(pieces, place, strict=True) if air}:
            held[session] += 30
        assert max(held) > 180


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 1000), st.floats(0.5, 60.0))
def test_its_account_stays_right(seed, temperature):
    tasks = [task(f"p{n}", 20 + 7 * n, airbrush=n % 3 == 0) for n in range(6)]
    tasks += [task(f"l{n}", 40, after(f"p{n}", 12)) for n in range(4)]
    packing = packing_of(sessions_of(tasks, 4), [2] * 6 + [3] * 4, seed, sprayed=1)
    for _ in range(60):
        packing.change(temperature)
    place = packing.place
    assert packing.load == [
        sum(task.minutes for task, session in zip(tasks, place, strict=True) if session == day)
        for day in range(4)
    ]
    sprayed = {session for task, session in zip(tasks, place, strict=True) if task.airbrush}
    over = sum(max(0, packing.load[day] + 30 * (day in sprayed) - 180) for day in range(4))
    assert packing.over == over + SPRAYED_TOO_OFTEN * max(0, len(sprayed) - 1)
    assert all(place[n] < place[6 + n] for n in range(4))


def test_sessions_without_spraying_need_no_airbrush():
    sessions = sessions_of([task("a", airbrush=True), task("b"), task("c", airbrush=True)])
    assert sessions.unsprayed([1, 0, 1]) == {0, 2}
    assert sessions.unsprayed([0, 1, 2]) == {1}
