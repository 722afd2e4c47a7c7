from dataclasses import replace

import numpy as np
import pytest

from decaljobs.craft.colour import ciede2000, lab_from_srgb
from decaljobs.craft.trial.model import MeasuredRound, best_colour, disagreement, fit
from decaljobs.craft.trial.rounds import round_colours

PAINT = np.array([52.0, 6.0, -14.0])


def printed(rgb):
    """A printer that prints too light and a little reddish, the more so the lighter."""
    lab = lab_from_srgb(rgb)
    return lab + [4.0, 2.0, 0.0] + 0.08 * (lab - [50.0, 0.0, 0.0])


def a_round(centre, radius, noise=0.0, seed=1, shift=(0.0, 0.0, 0.0)) -> MeasuredRound:
    rgb = np.array(round_colours(centre, radius), dtype=float)
    lab = printed(rgb) + np.random.default_rng(seed).normal(0, noise, (len(rgb), 3))
    return MeasuredRound(rgb, lab - PAINT + shift, PAINT)


def off(rgb) -> float:
    return float(ciede2000(printed(rgb), PAINT))


def test_it_finds_the_colour_that_prints_like_the_paint():
    best, near = best_colour(fit([a_round([55.0, 0.0, -8.0], 14.0)]))
    assert off(best) < 0.6
    assert near < 0.1


def test_it_gets_nearer_with_a_second_smaller_round():
    first = a_round([55.0, 0.0, -8.0], 14.0, noise=0.8)
    middle, _ = best_colour(fit([first]))
    second = a_round(lab_from_srgb(middle), 6.0, noise=0.8, seed=2)
    best, _ = best_colour(fit([first, second]))
    assert off(best) < 0.8


def test_it_trusts_the_newer_round_more():
    old = a_round([55.0, 0.0, -8.0], 6.0, shift=(3.0, 0.0, 0.0))
    new = a_round([55.0, 0.0, -8.0], 6.0)
    rgb = new.rgb[0]
    truth = printed(rgb) - PAINT
    newest_right = fit([old, new]).difference(rgb)[0] - truth[0]
    newest_wrong = fit([new, old]).difference(rgb)[0] - truth[0]
    # Half the weight to the older: one third of 3 against two thirds.
    assert newest_right == pytest.approx(1.0, abs=0.25)
    assert newest_wrong == pytest.approx(2.0, abs=0.25)


def test_it_leaves_out_patches_that_a_reflection_makes_like_the_paint():
    plain = a_round([52.0, 2.0, -12.0], 14.0)
    darkest = np.argsort(plain.differences[:, 0])[:3]
    spoilt = plain.differences.copy()
    spoilt[darkest] = 0.0
    model = fit([replace(plain, differences=spoilt)])
    assert model.strays == 3
    assert off(best_colour(model)[0]) < 0.6


def test_it_says_how_far_off_a_paint_out_of_reach_stays():
    beyond = np.array([52.0, 6.0, -110.0])
    centre = [45.0, 20.0, -75.0]
    rgb = np.array(round_colours(centre, 6.0), dtype=float)
    model = fit([MeasuredRound(rgb, printed(rgb) - beyond, beyond)])
    best, near = best_colour(model)
    assert near > 3.0
    assert near == pytest.approx(float(ciede2000(printed(best), beyond)), abs=1.0)


def test_it_is_surer_among_its_patches_than_far_away():
    model = fit([a_round([52.0, 2.0, -12.0], 6.0, noise=0.5)])
    assert model.uncertainty([120.0, 122.0, 145.0]) < model.uncertainty([250.0, 20.0, 20.0]) / 3


def test_it_notices_a_photo_that_quarrels_with_the_one_before():
    first = a_round([55.0, 0.0, -8.0], 14.0, noise=0.3)
    agreeing = a_round([52.0, 2.0, -12.0], 6.0, noise=0.3, seed=2)
    hazy = a_round([52.0, 2.0, -12.0], 6.0, noise=0.3, seed=2, shift=(-6.0, 0.0, 1.0))
    assert disagreement([first]) == 0.0
    assert disagreement([first, agreeing]) < 1.5
    assert disagreement([first, hazy]) == pytest.approx(6.0, abs=1.5)


def test_it_refuses_too_few_patches():
    plain = a_round([52.0, 2.0, -12.0], 6.0)
    few = replace(plain, rgb=plain.rgb[:7], differences=plain.differences[:7])
    with pytest.raises(ValueError, match="at least 8"):
        fit([few])
