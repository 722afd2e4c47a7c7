"""Where packings begin."""

from hypothesis import given, settings
from hypothesis import strategies as st

from decaljobs.craft.plan.frames import Frame
from decaljobs.craft.plan.framestart import Start
from decaljobs.craft.plan.moves import seeded
from tests.craft.plan.framing import ALL_SPRAY, COUNT, many_frames

FRAMES = many_frames()


def start_of(frame, room=180):
    low, high = [0] * 10, [0] * 10
    for group, part in zip(FRAMES.groups, FRAMES.parts(frame), strict=True):
        for task, first, last in zip(group.tasks, part.low, part.high, strict=True):
            low[task], high[task] = first, last
    return Start(FRAMES, low, high, [room] * COUNT, frame.spraying)


def keeps_all(place, start, spraying):
    """Whether each task stands in its window and after what it waits for, sprays if it has to."""
    return all(
        low <= there <= high and (spraying >> there & 1 or not FRAMES.model.airbrush[task])
        for task, (low, there, high) in enumerate(zip(start.low, place, start.high, strict=True))
    ) and all(
        limit[place[other]] <= place[task]
        for task, links in enumerate(FRAMES.sessions.first)
        for other, limit in links
    )


@settings(deadline=None)
@given(
    place=st.tuples(*[st.integers(0, COUNT - 1)] * 10),
    last=st.tuples(*[st.integers(1, COUNT - 1)] * 6),
    spraying=st.sampled_from([0b0001, 0b0101, 0b1011, ALL_SPRAY]),
    seed=st.integers(0, 9),
)
def test_tasks_begin_within_their_windows_and_after_their_waits(place, last, spraying, seed):
    start = start_of(Frame(last, spraying))
    assert keeps_all(start.near(place), start, spraying)
    assert keeps_all(start.by_urgency(seeded(seed)), start, spraying)


def test_what_may_stay_where_it_was_does():
    start = start_of(Frame((3,) * 6, ALL_SPRAY))
    place = [1, 0, 0, 1, 2, 3, 2, 1, 3, 2]
    assert start.near(place) == place


def test_what_has_to_be_done_soonest_is_done_first():
    # The project of the fifth task ends in the first evening; with 48 minutes it fills it.
    start = start_of(Frame((3, 3, 3, 3, 0, 3), ALL_SPRAY), room=50)
    place = start.by_urgency(seeded(1))
    assert place[4] == 0
    assert place.count(0) == 1
