"""The order inside the sessions, once it is known which tasks belong to which."""

from itertools import permutations

from hypothesis import given, settings
from hypothesis import strategies as st

from decaljobs.craft.plan.model import benches_of, build_model
from decaljobs.craft.plan.orders import Orders
from decaljobs.craft.plan.packing import Sessions
from decaljobs.craft.plan.timeline import Timeline
from tests.craft.plans import after, due, evening, plan_input, task

LATE = 10**6  # no bound


def model_of(tasks, projects=(), evenings=4):
    asked = plan_input(tasks, [evening(day) for day in range(evenings)], projects)
    return build_model(asked, asked.tasks, benches_of(asked.moment, asked.sessions))


def order_of(model, place, limits=None, until=LATE):
    return Orders(Sessions(model)).of(place, limits or [LATE] * len(place), until)


def test_what_others_wait_for_comes_first_in_its_session():
    # 24 h of drying: what begins it late in the evening holds up the next evening's work.
    tasks = [task("cut"), task("lay", 60, after("seal", 24)), task("seal")]
    assert order_of(model_of(tasks), [0, 1, 0]).tasks == [2, 0, 1]


def test_a_wait_within_the_session_is_filled_with_other_work():
    tasks = [task("cut", 60), task("lay", 60, after("cut", 1)), task("other", 60)]
    assert order_of(model_of(tasks), [0, 0, 0]).tasks == [0, 2, 1]


def test_the_heavier_of_two_late_projects_ends_first():
    tasks = [task("a", 60, project="boat"), task("b", 60, project="tram")]
    projects = [due("boat", 1), due("tram", 1, weight=3.0)]
    assert order_of(model_of(tasks, projects), [0, 0]).tasks == [1, 0]


def test_no_task_passes_its_limit():
    tasks = [task("a", 60), task("b", 60, project="tram")]
    assert order_of(model_of(tasks), [0, 0], [LATE, 120]).tasks == [1, 0]
    assert order_of(model_of(tasks), [0, 0], [120, 120]).stuck == 0


def test_it_says_in_which_session_it_is_stuck():
    # An hour of work, an hour's wait and 90 minutes more do not fit into three hours.
    tasks = [task("print"), task("cut", 60), task("lay", 90, after("cut", 1))]
    assert order_of(model_of(tasks), [0, 2, 2]).stuck == 2
    assert order_of(model_of(tasks), [0, 2, 3]).stuck == -1


def test_setting_up_may_fill_a_wait():
    # Print, 15 minutes of drying in which the airbrush is set up, two coats: all of 180 minutes.
    tasks = [task("print", 60), task("coat", 90, after("print", 0.25), airbrush=True)]
    assert order_of(model_of(tasks), [0, 0]).tasks == [0, 1]
    tasks[1] = task("coat", 91, after("print", 0.25), airbrush=True)
    assert order_of(model_of(tasks), [0, 0]).stuck == 0


@settings(deadline=None, max_examples=60)
@given(
    st.lists(
        st.tuples(st.integers(5, 60), st.booleans(), st.integers(0, 3), st.integers(1, 5)),
        min_size=2,
        max_size=5,
    ),
    st.sampled_from([0.25, 0.5, 1.0]),
)
def test_no_order_of_one_session_is_better(pieces, hours):
    """Held against every order of a session in which each task closes a project of its own."""
    tasks, projects = [], []
    for n, (minutes, air, hour, weight) in enumerate(pieces):
        waits = [after("t0", hours)] if n == len(pieces) - 1 else []
        tasks.append(task(f"t{n}", minutes, *waits, project=f"p{n}", airbrush=air))
        projects.append(due(f"p{n}", 1 + hour / 2, weight=weight))
    model = model_of(tasks, projects, 1)
    found = order_of(model, [0] * len(tasks))
    horizon = model.benches[0].ends[0]
    costs = [
        line.cost
        for order in permutations(range(len(tasks)))
        if order.index(0) < order.index(len(tasks) - 1)
        and max((line := Timeline(model, order)).end) <= horizon
    ]
    if found.stuck >= 0:
        assert not costs
    else:
        assert Timeline(model, found.tasks).cost <= min(costs)
