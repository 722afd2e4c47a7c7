"""Whether a paint lies beyond the printer, told by eye: tried with steady eyes on known colours."""

from dataclasses import replace

import numpy as np
import pytest

from decaljobs.craft.colour import ciede2000, lab_from_srgb
from decaljobs.craft.colourtrial import EDGE_CHANCE
from decaljobs.craft.trial.eye import EyeAnswer
from decaljobs.craft.trial.reach import JudgedRound, chance_beyond
from decaljobs.craft.trial.rounds import round_colours

# An indigo stronger than any file colour: CIEDE2000 5.4 from the nearest.
BEYOND = np.array([26.0, 80.0, -125.0])
WITHIN = np.array([45.0, 12.0, -30.0])


def words_for(patch: np.ndarray, paint: np.ndarray) -> tuple[str, ...]:
    """The two plainest faults of a size of 1 and more, without a slip."""
    stronger = np.hypot(*patch[1:]) - np.hypot(*paint[1:])
    faults = [
        (patch[0] - paint[0], "lighter", "darker"),
        (patch[1] - paint[1], "redder", "greener"),
        (patch[2] - paint[2], "yellower", "bluer"),
        (0.6 * stronger, "stronger", "weaker"),
    ]
    faults.sort(key=lambda fault: -abs(fault[0]))
    return tuple(more if size > 0 else less for size, more, less in faults[:2] if abs(size) >= 1)


def judged(paint: np.ndarray, radius: float) -> JudgedRound:
    colours = tuple(round_colours(paint, radius))
    seen = lab_from_srgb(colours)
    picks = np.argsort(ciede2000(seen, paint))[:3]
    answer = EyeAnswer(tuple(int(pick) + 1 for pick in picks), words_for(seen[picks[0]], paint))
    centre = lab_from_srgb(colours[0])
    return JudgedRound((centre[0], centre[1], centre[2]), colours, answer)


def test_it_says_beyond_for_a_paint_that_no_file_colour_reaches():
    assert ciede2000(lab_from_srgb(np.array([30.0, 0.0, 255.0])), BEYOND) > 3
    assert chance_beyond([judged(BEYOND, 6.0), judged(BEYOND, 3.0)]) > 0.6


def test_it_says_within_for_a_paint_in_the_middle_of_the_gamut():
    assert chance_beyond([judged(WITHIN, 6.0), judged(WITHIN, 3.0)]) < 0.02


def test_it_says_within_for_a_paint_at_the_edge_that_is_met():
    at_edge = lab_from_srgb(np.array([0.0, 0.0, 250.0]))
    met = judged(at_edge, 3.0)
    assert met.answer.off == ()
    assert chance_beyond([met]) < EDGE_CHANCE


def test_it_takes_other_words_for_another_paint():
    one = judged(BEYOND, 3.0)
    unnamed = replace(one, answer=EyeAnswer(one.answer.picks))
    assert chance_beyond([unnamed]) < chance_beyond([one]) - 0.3


def test_it_trusts_a_wide_round_less_once_a_small_one_is_judged():
    wide, small = judged(BEYOND, 14.0), judged(WITHIN, 3.0)
    assert chance_beyond([wide, small]) < 0.1 < chance_beyond([wide])


def test_it_wants_a_round():
    with pytest.raises(ValueError, match="at least one"):
        chance_beyond([])
