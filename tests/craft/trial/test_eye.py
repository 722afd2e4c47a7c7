import numpy as np
import pytest

from decaljobs.craft.colour import lab_from_srgb, srgb_from_lab
from decaljobs.craft.trial.eye import WORDS, EyeAnswer, centre_by_eye, expected_by_eye
from decaljobs.craft.trial.rounds import round_colours, share_of_ball

CENTRE = (55.0, 12.0, -8.0)
COLOURS = round_colours(CENTRE, 6.0)


def test_it_averages_the_best_three_by_half_three_and_two_tenths():
    found = centre_by_eye(COLOURS, CENTRE, 6.0, EyeAnswer((7, 12, 31)))
    labs = lab_from_srgb([COLOURS[6], COLOURS[11], COLOURS[30]])
    assert np.allclose(found.lab, 0.5 * labs[0] + 0.3 * labs[1] + 0.2 * labs[2])


@pytest.mark.parametrize(
    ("word", "moved"),
    [
        ("lighter", (-1, 0, 0)),
        ("darker", (1, 0, 0)),
        ("redder", (0, -1, 0)),
        ("greener", (0, 1, 0)),
        ("yellower", (0, 0, -1)),
        ("bluer", (0, 0, 1)),
    ],
)
def test_it_moves_against_the_fault_that_is_named(word, moved):
    plain = centre_by_eye(COLOURS, CENTRE, 6.0, EyeAnswer((7, 12, 31)))
    corrected = centre_by_eye(COLOURS, CENTRE, 6.0, EyeAnswer((7, 12, 31), (word,)))
    step = np.subtract(corrected.lab, plain.lab)
    assert np.dot(step, moved) > 0.5
    assert np.allclose(np.cross(step, moved), 0, atol=1e-6)


def test_it_takes_chroma_out_of_a_patch_that_is_stronger():
    def chroma(off):
        _, a, b = centre_by_eye(COLOURS, CENTRE, 6.0, EyeAnswer((7, 12, 31), off)).lab
        return np.hypot(a, b)

    assert chroma(("stronger",)) < chroma(()) - 0.5
    assert chroma(("weaker",)) > chroma(()) + 0.5


@pytest.mark.parametrize(
    "off", [("lighter",), ("redder",), ("bluer",), ("stronger",), ("darker", "greener")]
)
def test_it_moves_as_far_for_any_word_and_no_further_for_two(off):
    def centre(off=()):
        return np.array(centre_by_eye(COLOURS, CENTRE, 6.0, EyeAnswer((7, 12, 31), off)).lab)

    moved = share_of_ball(centre(off) - centre(), centre(), 6.0)
    assert moved == pytest.approx(0.15, rel=1e-6)  # of the radius (tried, no source)


def test_it_says_when_the_picks_lie_at_the_rim():
    away = np.linalg.norm(lab_from_srgb(COLOURS) - CENTRE, axis=1)
    one, two, three = (int(place) + 1 for place in np.argsort(away)[:3])
    assert centre_by_eye(COLOURS, CENTRE, 6.0, EyeAnswer((one, two, three))).far < 0.4
    towards = lab_from_srgb(COLOURS)[:, 0]
    one, two, three = (int(place) + 1 for place in np.argsort(-towards)[:3])
    assert centre_by_eye(COLOURS, CENTRE, 6.0, EyeAnswer((one, two, three))).far > 0.6


def test_it_stays_inside_the_gamut():
    colours = round_colours(lab_from_srgb((0, 0, 250)), 6.0)
    found = centre_by_eye(
        colours, lab_from_srgb((0, 0, 250)), 6.0, EyeAnswer((1, 2, 3), ("weaker",))
    )
    assert srgb_from_lab(found.lab)[1]


def test_it_expects_less_difference_from_smaller_rounds_and_more_at_the_rim():
    expected = [expected_by_eye(radius, 0.2) for radius in (14.0, 6.0, 3.0)]
    assert expected == sorted(expected, reverse=True)
    # 0.3 and a quarter of the radius (simulated trials); from 0.6 on the rim counts, twice over.
    assert expected_by_eye(6.0, 0.6) == pytest.approx(0.3 + 1.5)
    assert expected_by_eye(6.0, 1.0) == pytest.approx(0.3 + 1.5 * 1.8)


def test_it_knows_eight_words_in_four_pairs():
    assert len(WORDS) == 8
    assert {(axis, -sign) for axis, sign in WORDS.values()} == set(WORDS.values())


@pytest.mark.parametrize("picks", [(), (1,), (1, 2), (1, 2, 3, 4)])
def test_it_wants_three_picks(picks):
    with pytest.raises(ValueError, match="best three"):
        EyeAnswer(picks)


def test_it_refuses_a_pick_named_twice():
    with pytest.raises(ValueError, match="three different"):
        EyeAnswer((7, 12, 7))


@pytest.mark.parametrize("pick", [0, -1, 41])
def test_it_refuses_a_pick_that_is_not_there(pick):
    with pytest.raises(ValueError, match="patches 1 to 40"):
        centre_by_eye(COLOURS, CENTRE, 6.0, EyeAnswer((1, 2, pick)))


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (("lighter", "darker"), "contradict"),
        (("redder", "greener"), "contradict"),
        (("weaker", "stronger"), "contradict"),
        (("redder", "redder"), "the same"),
        (("pinker",), "not one of"),
        (("lighter", "redder", "bluer"), "at most 2"),
    ],
)
def test_it_refuses_words_that_cannot_hold(words, reason):
    with pytest.raises(ValueError, match=reason):
        EyeAnswer((1, 2, 3), words)
