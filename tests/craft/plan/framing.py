"""Frames that the tests of their parts share."""

from decaljobs.craft.plan.frames import Frame, Frames
from tests.craft.plan.deals import many_sessions

COUNT = 4
#: Where each of ``many_tasks`` stands, and the frame of it with spraying in the second one too.
PLACE = [0] * 6 + [1] * 4
FRAME = Frame((1, 1, 1, 1, 0, 1), 0b11)
ALL_SPRAY = 0b1111


def many_frames(high=None):
    """Ten tasks of six projects in four evenings."""
    sessions = many_sessions()
    return Frames(sessions, high or [COUNT - 1] * len(sessions.model.tasks), COUNT)


def windows_by_search(frames, frame):
    """First and last session of each task, by narrowing all windows until nothing moves."""
    model = frames.model
    allowed = [
        {
            session
            for session in range(frames.sessions.low[task], frames.high[task] + 1)
            if (frame.spraying >> session & 1 or not model.airbrush[task])
            and all(session <= frame.last[project] for project in model.closes[task])
        }
        for task in range(len(model.tasks))
    ]
    changed = True
    while changed:
        changed = False
        for task in range(len(model.tasks)):
            kept = {session for session in allowed[task] if _may(frames, task, session, allowed)}
            changed |= kept != allowed[task]
            allowed[task] = kept
    return [(min(kept), max(kept)) if kept else None for kept in allowed]


def _may(frames, task, session, allowed):
    """Whether each task tied to this one has a session left that suits."""
    return all(
        any(limit[there] <= session for there in allowed[other])
        for other, limit in frames.sessions.first[task]
    ) and all(
        any(limit[there] >= session for there in allowed[other])
        for other, limit in frames.sessions.last[task]
    )
