"""What holds for every plan, whatever the work and the hours."""

from dataclasses import replace
from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from decaljobs.craft.benchplan import make_plan, what_slips
from decaljobs.craft.plan.tasks import FixedWait, PlanInput, Project, Session, Task, Wait
from tests.benchmarks.plan_checks import faults
from tests.craft.plans import HOUR, MINUTE, MONDAY, never

MAKERS = ("Ada", "Ben")
few = settings(deadline=None, max_examples=40)


def slow_by_night(start):
    """As a cold room at night: a wait begun late is over later still."""
    return start + (14 if start.hour >= 20 else 3) * HOUR


READY = (FixedWait(0 * HOUR), FixedWait(0.5 * HOUR), FixedWait(12 * HOUR), slow_by_night, never)


@st.composite
def sessions(draw):
    """Up to six stretches of two makers; those of one maker never touch."""
    found = []
    for maker in MAKERS:
        hour = draw(st.integers(-2, 20))
        for _ in range(draw(st.integers(0, 6))):
            minutes = draw(st.integers(20, 240))
            start = MONDAY + hour * HOUR
            found.append(Session(maker, start, start + minutes * MINUTE))
            hour += minutes // 60 + 1 + draw(st.integers(1, 30))
    return tuple(found)


@st.composite
def tasks_for(draw, benches, pins):
    tasks = []
    for number in range(draw(st.integers(0, 12))):
        before = draw(st.sets(st.sampled_from(tasks), max_size=2)) if tasks else set()
        waits = [Wait(task.id, draw(st.sampled_from(READY))) for task in sorted(before, key=str)]
        if draw(st.integers(0, 5)) == 0:
            waits.append(Wait(None, draw(st.sampled_from(READY))))
        pinned = draw(st.sampled_from(benches)) if pins and benches and number == 0 else None
        task = Task(
            f"t{number}",
            draw(st.sampled_from("abc")),
            f"step {number}",
            draw(st.integers(1, 90)),
            airbrush=draw(st.booleans()),
            waits=tuple(waits),
            also_for=draw(st.sampled_from([(), ("b",), ("c",)])),
            makers=draw(st.sampled_from([(), (), ("Ada",), ("Ben",)])),
            pinned_session=pinned,
        )
        tasks.append(task)
    return tuple(tasks)


@st.composite
def inputs(draw, pins=False):
    benches = draw(sessions())
    projects = tuple(
        Project(
            name, due=MONDAY + draw(st.integers(-20, 90)) * HOUR, weight=draw(st.integers(0, 5))
        )
        for name in "ab"
    )
    tasks = draw(tasks_for(benches, pins))
    shuffled = tuple(draw(st.permutations(tasks)))
    return PlanInput(MONDAY, shuffled, projects, benches)


@few
@given(inputs(), st.integers(0, 60))
def test_it_keeps_every_rule(plan_input, iterations):
    plan = make_plan(plan_input, iterations=iterations)
    assert faults(plan_input, plan) == []


@few
@given(inputs(), st.integers(1, 5))
def test_it_repeats_itself(plan_input, seed):
    plans = [make_plan(plan_input, iterations=40, seed=seed) for _ in range(2)]
    assert plans[0] == plans[1]


@few
@given(inputs())
def test_it_never_gets_worse_by_searching(plan_input):
    first = make_plan(plan_input, iterations=0)
    plan = make_plan(plan_input, iterations=60)
    if not plan.unplanned and not first.unplanned:
        assert plan.objective <= first.objective
    again = make_plan(plan_input, iterations=0, start_from=plan)
    assert faults(plan_input, again) == []


@few
@given(inputs(pins=True), st.integers(0, 60))
def test_pins_stay(plan_input, iterations):
    plan = make_plan(plan_input, iterations=iterations)
    assert faults(plan_input, without_makers_of_pins(plan)) == []
    broken = [note for note in plan.notes if "pin" in note]
    given_pins = {task.id: task.pinned_session for task in plan_input.tasks}
    for placed in plan.tasks:
        told = any(f"‘{placed.task.words}’" in note for note in broken)
        assert given_pins[placed.task.id] in (None, placed.session) or told


def without_makers_of_pins(plan):
    """A pin goes before the makers of a task."""
    return replace(
        plan,
        tasks=tuple(
            replace(placed, task=replace(placed.task, makers=()))
            if placed.task.pinned_session
            else placed
            for placed in plan.tasks
        ),
    )


@few
@given(inputs())
def test_every_task_and_every_left_out_task_has_a_reason(plan_input):
    plan = make_plan(plan_input, iterations=10)
    assert all(placed.reason.words for placed in plan.tasks)
    assert all(left.task.words in left.words for left in plan.unplanned)
    assert all(placed.ready <= placed.start for placed in plan.tasks)


@few
@given(inputs(), st.integers(0, 11))
def test_nothing_is_planned_in_a_session_that_is_missed(plan_input, number):
    if not plan_input.sessions:
        return
    skipped = plan_input.sessions[number % len(plan_input.sessions)]
    slips = what_slips(plan_input, skipped, iterations=20)
    assert slips.plan.in_session(skipped) == ()
    for slip in slips.slips:
        assert slip.later is None or slip.later > timedelta(0)
        assert (slip.end_without is None) == (slip.later is None)
