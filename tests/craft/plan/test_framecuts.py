"""What a packing that failed asks of the next frame."""

from pytest import approx

from decaljobs.craft.plan.framecuts import Cut
from decaljobs.craft.plan.frames import Frame
from tests.craft.plan.framing import ALL_SPRAY, FRAME, many_frames

FRAMES = many_frames()
PRICES = [1.0, 0.5, 0.0, 0.25]


def asked_of(cut, frame):
    """What a frame asks for, less the limit."""
    parts = sum(cut.asked(number, part) for number, part in enumerate(FRAMES.parts(frame)))
    return parts + cut.sprayed(frame.spraying) - cut.limit


def test_the_frame_that_failed_asks_for_too_much_by_the_relief():
    assert asked_of(Cut(FRAMES, PRICES, FRAME, 7.5), FRAME) == approx(7.5)


def test_a_task_asks_for_its_minutes_at_the_least_price_of_its_window():
    cut = Cut(FRAMES, PRICES, FRAME, 0.0)
    frame = Frame((3,) * 6, ALL_SPRAY)
    for number, (group, part) in enumerate(zip(FRAMES.groups, FRAMES.parts(frame), strict=True)):
        spans = [range(low, high + 1) for low, high in zip(part.low, part.high, strict=True)]
        least = [min(PRICES[session] for session in span) for span in spans]
        minutes = [FRAMES.model.minutes[task] for task in group.tasks]
        expected = sum(work * price for work, price in zip(minutes, least, strict=True))
        assert cut.asked(number, part) == approx(expected)
    assert cut.sprayed(ALL_SPRAY) == approx(30 * sum(PRICES))


def test_wider_windows_ask_for_no_more():
    cut = Cut(FRAMES, PRICES, FRAME, 0.0)
    assert asked_of(cut, Frame((3,) * 6, FRAME.spraying)) < asked_of(cut, FRAME)
