"""Cheap frames that lack nothing."""

from itertools import product

import numpy as np
import pytest

from decaljobs.craft.plan.budget import Budget
from decaljobs.craft.plan.framecuts import Cut
from decaljobs.craft.plan.frames import Frame
from decaljobs.craft.plan.framing import Framing, Heat
from decaljobs.craft.plan.moves import seeded
from tests.craft.plan.framing import ALL_SPRAY, COUNT, FRAME, many_frames

FRAMES = many_frames()
MARGIN = 3
HEAT = Heat(0.1, 0.001, 0.1, 1.0)
NO_BOUND = float("inf")


def framing_of(cuts=(), below=NO_BOUND, seed=1, frame=FRAME):
    return Framing(FRAMES, frame, cuts, MARGIN, below, seeded(seed))


def lack_of(frame, cuts=()):
    """What a frame lacks, worked out anew; None if a task has no session."""
    try:
        parts = FRAMES.parts(frame)
    except ValueError:
        return None
    lacks = sum(part.held for part in parts) - FRAMES.room(frame.spraying)
    lack = max(0, int(lacks[0].max()) + MARGIN, int(lacks[1].max()))
    for cut in cuts:
        asked = sum(cut.asked(number, part) for number, part in enumerate(parts))
        lack += max(0.0, asked + cut.sprayed(frame.spraying) - cut.limit)
    return lack


def every_cost(cuts=()):
    """The costs of all frames of a few ends and any spraying that lack nothing, sorted."""
    found = []
    for ends in product(range(COUNT), repeat=6):
        for spraying in range(1, ALL_SPRAY + 1):
            frame = Frame(ends, spraying)
            if FRAMES.cost(frame) < 60_000 and lack_of(frame, cuts) == 0:
                found.append(FRAMES.cost(frame))
    return sorted(found)


@pytest.mark.parametrize("seed", [1, 2])
def test_what_it_keeps_of_a_frame_is_what_one_made_anew_has(seed):
    cuts = [Cut(FRAMES, [1.0, 0.3, 0.0, 0.0], FRAME, 5.0)]
    framing = framing_of(cuts, seed=seed)
    framing.run(Budget(0.0, 20), HEAT)
    frame = Frame(tuple(framing.last), framing.spraying)
    assert frame != FRAME
    assert framing.cost == pytest.approx(FRAMES.cost(frame))
    assert framing.lack == pytest.approx(lack_of(frame, cuts))
    anew = framing_of(cuts, frame=frame)
    assert np.array_equal(framing.lacks, anew.lacks) and framing.ending == anew.ending
    assert framing.beyond == pytest.approx(anew.beyond)


def test_it_finds_the_cheapest_frame():
    framing = framing_of()
    framing.run(Budget(0.0, 40), HEAT)
    assert lack_of(framing.best) == 0
    assert FRAMES.cost(framing.best) == every_cost()[0] == framing.below


def test_it_keeps_to_what_is_asked_by_cuts():
    free = framing_of()
    free.run(Budget(0.0, 40), HEAT)
    cuts = [Cut(FRAMES, [1.0, 1.0, 0.0, 0.0], free.best, 60.0)]
    framing = framing_of(cuts)
    framing.run(Budget(0.0, 40), HEAT)
    assert lack_of(free.best, cuts) > 0 == lack_of(framing.best, cuts)
    assert FRAMES.cost(framing.best) == every_cost(cuts)[0] > FRAMES.cost(free.best)


def test_it_tells_of_none_where_all_cost_too_much():
    framing = framing_of(below=every_cost()[0])
    framing.run(Budget(0.0, 10), HEAT)
    assert framing.best is None
    assert framing.tries == 10


def test_a_frame_that_lacks_minutes_is_none():
    # 385 minutes of work and 60 for the airbrush, of two evenings' 360.
    assert lack_of(FRAME) == 85 + MARGIN
    assert framing_of().best is None
