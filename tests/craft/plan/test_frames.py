"""What a frame costs, and the windows and bounds it has."""

from functools import partial

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decaljobs.craft.plan import frames as frames_module
from decaljobs.craft.plan.frames import PLENTY, Frame
from tests.craft.plan.deals import deal_of
from tests.craft.plan.framing import ALL_SPRAY, COUNT, FRAME, PLACE, many_frames, windows_by_search

FRAMES = many_frames()
a_frame = st.builds(
    Frame,
    st.tuples(*[st.integers(0, COUNT - 1)] * 6),
    st.integers(0, ALL_SPRAY),
)


def windows_of(frames, frame):
    """By task its first and last session, or None where its group has a task without one."""
    found = [None] * len(frames.model.tasks)
    for number, group in enumerate(frames.groups):
        last = tuple(frame.last[project] for project in group.projects)
        windows = frames.windows(number, last, frame.spraying)
        if windows:
            for task, *span in zip(group.tasks, windows.low, windows.high, strict=True):
                found[task] = tuple(span)
    return found


@settings(deadline=None)
@given(frame=a_frame)
def test_windows_are_what_is_left_when_all_that_cannot_be_is_struck_out(frame):
    searched, told = windows_by_search(FRAMES, frame), windows_of(FRAMES, frame)
    for group in FRAMES.groups:
        if any(searched[task] is None for task in group.tasks):
            assert all(told[task] is None for task in group.tasks)
        else:
            assert [told[task] for task in group.tasks] == [searched[task] for task in group.tasks]


@settings(deadline=None)
@given(frame=a_frame, flipped=st.integers(0, COUNT - 1))
def test_only_spraying_that_is_said_to_changes_the_windows(frame, flipped):
    more = not frame.spraying >> flipped & 1
    for number, group in enumerate(FRAMES.groups):
        ask = partial(FRAMES.windows, number, tuple(frame.last[p] for p in group.projects))
        before, after = ask(frame.spraying), ask(frame.spraying ^ 1 << flipped)
        if before and not (before.gains if more else before.losses) >> flipped & 1:
            assert after and (after.low, after.high) == (before.low, before.high)


def test_what_is_held_by_a_run_is_the_minutes_that_cannot_leave_it():
    model = FRAMES.model
    for number, (group, part) in enumerate(zip(FRAMES.groups, FRAMES.parts(FRAME), strict=True)):
        for first in range(COUNT):
            for last in range(COUNT):
                inside = [
                    task
                    for task, low, high in zip(group.tasks, part.low, part.high, strict=True)
                    if first <= low and high <= last
                ]
                work = sum(model.minutes[task] for task in inside)
                sprayed = sum(model.minutes[task] for task in inside if model.airbrush[task])
                assert list(part.held[:, first, last]) == [work, sprayed], number


def test_a_run_holds_its_minutes_but_for_set_up_and_cleaning():
    room = FRAMES.room(0b0101)  # evenings of 180 minutes, 30 of them gone where there is spraying
    assert list(room[0, 0]) == [150, 330, 480, 660]
    assert list(room[1, 0]) == [150, 150, 300, 300]  # only for what is sprayed
    assert room[0, 2, 1] >= PLENTY  # no run at all


def test_a_frame_costs_what_a_deal_of_it_does_but_for_its_last_minutes():
    deal = deal_of(FRAMES.sessions, PLACE)
    assert FRAMES.cost(FRAME._replace(spraying=0b01)) == deal.cost - deal.load[deal.final]
    assert FRAMES.cost(FRAME) == FRAMES.cost(FRAME._replace(spraying=0b01)) + 60


@settings(deadline=None)
@given(frame=a_frame)
def test_an_eased_frame_ends_as_late_as_it_costs_no_more(frame):
    eased = FRAMES.eased(frame)
    assert FRAMES.cost(eased) <= FRAMES.cost(frame)
    assert all(now >= was for now, was in zip(eased.last, frame.last, strict=True))
    assert eased.spraying == frame.spraying
    for project, session in enumerate(eased.last):
        for later in range(session + 1, COUNT):
            ends = (*eased.last[:project], later, *eased.last[project + 1 :])
            assert FRAMES.cost(Frame(ends, eased.spraying)) > FRAMES.cost(eased)


def test_a_frame_without_a_session_for_a_task_has_no_parts():
    with pytest.raises(ValueError, match="no session"):
        FRAMES.parts(FRAME._replace(spraying=0))


def test_pinned_tasks_keep_to_their_session():
    frames = many_frames([0, *[COUNT - 1] * 9])
    (group,) = (group for group in frames.groups if 0 in group.tasks)
    part = frames.parts(Frame((3,) * 6, ALL_SPRAY))[frames.groups.index(group)]
    assert part.high[group.tasks.index(0)] == 0


def test_what_is_remembered_does_not_grow_without_end(monkeypatch):
    monkeypatch.setattr(frames_module, "MOST_KNOWN", 5)
    frames = many_frames()
    told = [windows_of(frames, Frame((last,) * 6, ALL_SPRAY)) for last in (3, 2, 1, 3)]
    assert len(frames.known) <= 5
    assert told[0] == told[3] != told[1]
