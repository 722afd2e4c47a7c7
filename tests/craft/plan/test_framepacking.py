"""The tasks of a frame packed into its sessions."""

from hypothesis import given, settings
from hypothesis import strategies as st

from decaljobs.craft.plan import framepacking
from decaljobs.craft.plan.framepacking import FramePacking
from decaljobs.craft.plan.frames import Frame, Frames
from decaljobs.craft.plan.moves import seeded
from tests.craft.plan.deals import sessions_of
from tests.craft.plan.framing import ALL_SPRAY, COUNT, PLACE, many_frames
from tests.craft.plan.test_framestart import keeps_all
from tests.craft.plans import after, task

FRAMES = many_frames()


def packing_of(last=(3,) * 6, spraying=0b0101, seed=1, frames=FRAMES, place=PLACE):
    return FramePacking(frames, Frame(last, spraying), place, seeded(seed))


def full_frames(*minutes):
    """Tasks of one project each, in two evenings of 180 minutes."""
    tasks = [task(f"t{n}", length, project=f"p{n}") for n, length in enumerate(minutes)]
    return Frames(sessions_of(tasks, evenings=2), [1] * len(tasks), 2)


@settings(deadline=None, max_examples=50)
@given(
    spraying=st.sampled_from([0b0001, 0b0101, 0b1011, ALL_SPRAY]),
    last=st.tuples(*[st.integers(1, COUNT - 1)] * 6),
    seed=st.integers(0, 9),
    temperature=st.sampled_from([0.5, 20.0]),
)
def test_after_any_steps_all_is_as_counted_anew(spraying, last, seed, temperature):
    packing = packing_of(last, spraying, seed)
    packing.run(300, temperature, stops=False)
    assert keeps_all(packing.place, packing, spraying)
    for session in range(COUNT):
        inside = [task for task, there in enumerate(packing.place) if there == session]
        room = 180 - 30 * (spraying >> session & 1)
        load = sum(FRAMES.model.minutes[task] for task in inside)
        assert sorted(packing.inside[session]) == inside
        assert packing.load[session] == load and packing.room[session] == room
        assert packing.excess[session] == max(0, load - room)
    assert packing.over == sum(packing.excess) >= packing.best


def test_tasks_change_places_until_no_session_holds_too_much():
    # Only 100 + 80 and 120 + 60 fill two evenings of 180 minutes.
    frames = full_frames(100, 60, 80, 120)
    for seed in range(5):
        packing = packing_of((1,) * 4, 0, seed, frames, [0, 0, 1, 1])
        packing.run(2000, 20.0)
        assert packing.over == packing.best == 0
        assert packing.place[0] == packing.place[2] != packing.place[1] == packing.place[3]


def test_it_remembers_where_the_least_was_too_many():
    # 3 × 70 minutes in an evening, however they are packed: 30 too many.
    packing = packing_of((1,) * 5, 0, 1, full_frames(70, 70, 70, 70, 70), [0, 0, 0, 0, 1])
    packing.run(500, 50.0)
    assert packing.best == 30
    assert sorted(packing.best_place).count(0) in (2, 3)


def test_waits_drag_what_is_in_the_way_along(monkeypatch):
    monkeypatch.setattr(framepacking, "DRAG", 1.0)
    tasks = [task("a"), task("b", 30, after("a", 12)), task("c", 30, after("b", 12))]
    frames = Frames(sessions_of(tasks), [3] * 3, 4)
    packing = packing_of((3,), 0, 1, frames, [0, 1, 2])
    assert packing.place == [0, 1, 2]
    met = set()
    for _ in range(200):
        packing.run(1, 1.0, stops=False)
        met.add(tuple(packing.place))
    assert met == {(0, 1, 2), (0, 1, 3), (0, 2, 3), (1, 2, 3)}


def test_what_is_overfull_grows_dear_and_what_is_not_cheap_again():
    packing = packing_of((1,) * 5, 0, 1, full_frames(70, 70, 70, 70, 70), [0, 0, 0, 0, 1])
    packing.run(1000, 5.0, stops=False)
    dear = max(packing.price)
    assert dear > 1.0 and sum(packing.seen) > 0
    packing.excess = [0, 0]
    packing._look()
    assert max(packing.price) == dear * framepacking.FALL


def test_a_shaken_session_gets_other_tasks():
    frames = full_frames(90, 90, 90, 90)
    packing = packing_of((1,) * 4, 0, 1, frames, [0, 0, 1, 1])
    packing.run(1000, 5.0)
    assert packing.over == 0
    met = set()
    for _ in range(20):
        packing.shake(0, 100, 20.0)
        packing.run(1000, 5.0)
        assert packing.over == 0 and packing.room == [180, 180]
        met.add(frozenset(packing.inside[0]))
    assert len(met) > 1


def test_where_nothing_may_move_nothing_does():
    frames = Frames(sessions_of([task("a"), task("b", project="tram")]), [0, 0], 1)
    packing = packing_of((0, 0), 0, 1, frames, [0, 0])
    packing.run(100, 1.0, stops=False)
    assert packing.place == [0, 0]


def test_any_heap_of_tasks_in_one_session_can_be_begun_with():
    frames = full_frames(*[100] * 60)
    packing = packing_of((1,) * 60, 0, 1, frames, [0] * 60)
    packing._put([0] * 60)
    packing.run(2000, 5.0)
    assert packing.best == 60 * 100 - 360


def test_prices_stay_numbers_however_long_it_takes():
    packing = packing_of((1,) * 3, 0, 1, full_frames(150, 150, 150), [0, 0, 1])
    packing.price = [framepacking.DEAREST] * 2
    for _ in range(3):
        packing._look()
    assert max(packing.price) == framepacking.DEAREST
    packing.run(1000, 5.0, stops=False)
    assert packing.over == 120
