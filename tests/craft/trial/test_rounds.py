import numpy as np
import pytest

from decaljobs.craft.colour import ciede2000, lab_from_srgb
from decaljobs.craft.trial.rounds import (
    ball_axes,
    ball_points,
    round_colours,
    round_radius,
    share_of_ball,
)


def test_it_fills_the_ball_without_holes_or_heaps():
    points = ball_points(40)
    assert np.linalg.norm(points, axis=1).max() <= 1.0
    apart = np.linalg.norm(points[:, None] - points[None], axis=2) + 9 * np.eye(40)
    assert apart.min() > 0.1
    # Any place of the ball has a patch not far off.
    somewhere = np.random.default_rng(2).normal(size=(2000, 3))
    somewhere /= np.linalg.norm(somewhere, axis=1, keepdims=True)
    somewhere *= np.cbrt(np.random.default_rng(3).random((2000, 1)))
    nearest = np.linalg.norm(somewhere[:, None] - points[None], axis=2).min(axis=1)
    assert np.median(nearest) < 0.35
    assert nearest.max() < 0.85


def test_its_patches_follow_the_published_sequence():
    """R3: steps 0.819172513, 0.671043607, 0.549700478 (Roberts 2018; from memory), from 0.5."""
    middle, first, second = ball_points(3)
    assert middle.tolist() == [0, 0, 0]
    for point, radius_squared, along in (
        (first, 0.3191725, 0.1710436),
        (second, 0.138345, 0.8420872),
    ):
        radius = np.linalg.norm(point)
        assert radius**2 == pytest.approx(radius_squared, abs=1e-6)
        assert point[0] / radius == pytest.approx(2 * along - 1, abs=1e-6)


@pytest.mark.parametrize(
    "lab", [[50, 0, 0], [20, 5, -10], [85, -5, 20], [55, 45, 30], [40, -30, 15]]
)
def test_it_weighs_the_axes_as_ciede2000_does(lab):
    # The tone term of the hue weight and the stretched red axis are left out: up to about a third.
    for axis in ball_axes(lab):
        step = 0.2 * axis
        measured = ciede2000(np.array(lab) - step / 2, np.array(lab) + step / 2) / 0.2
        assert measured == pytest.approx(1.0, rel=0.5)


def test_it_keeps_lightness_and_chroma_steps_of_greys_exact():
    light, red, yellow = ball_axes([50.0, 0.0, 0.0])
    assert ciede2000([50, 0, 0], np.array([50, 0, 0]) + 0.1 * light) == pytest.approx(0.1, rel=1e-3)
    assert ciede2000([50, 0, 0], np.array([50, 0, 0]) + 0.1 * yellow) == pytest.approx(
        0.1, rel=0.01
    )
    assert red.tolist() == [0.0, 1.0, 0.0]


@pytest.mark.parametrize("rgb", [(30, 61, 89), (128, 128, 128), (0, 0, 0), (255, 255, 255)])
@pytest.mark.parametrize("radius", [14.0, 6.0, 3.0])
def test_it_prints_forty_different_colours_with_the_centre_first(rgb, radius):
    colours = round_colours(lab_from_srgb(rgb), radius)
    assert len(set(colours)) == len(colours) == 40
    assert colours[0] == rgb
    assert all(0 <= value <= 255 for colour in colours for value in colour)


def test_it_stays_within_the_radius_inside_the_gamut():
    centre = lab_from_srgb((128, 118, 108))
    moves = lab_from_srgb(round_colours(centre, 6.0)) - centre
    # Whole file values round a colour by up to about half a unit.
    assert max(share_of_ball(move, centre, 6.0) for move in moves) < 1.15
    assert np.abs(moves).max() > 3


def test_it_makes_the_ball_taller_when_asked():
    centre = lab_from_srgb((128, 118, 108))
    plain = np.ptp(lab_from_srgb(round_colours(centre, 10.0))[:, 0])
    tall = np.ptp(lab_from_srgb(round_colours(centre, 10.0, stretch=1.5))[:, 0])
    assert tall == pytest.approx(1.5 * plain, rel=0.05)


def test_it_brings_a_centre_outside_the_gamut_to_its_edge():
    colours = round_colours([60.0, -120.0, 80.0], 3.0)
    assert 0 in colours[0] or 255 in colours[0]
    assert len(set(colours)) == 40


def test_it_shrinks_the_rounds_unless_the_answer_lay_at_the_rim():
    assert [round_radius(number) for number in (1, 2, 3, 4)] == [14.0, 6.0, 3.0, 3.0]
    assert round_radius(2, 14.0, 0.69) == 6.0
    assert round_radius(2, 14.0, 0.71) == pytest.approx(11.2)
    assert round_radius(3, 6.0, 0.69) == 3.0
    assert round_radius(3, 11.2, 0.2) == pytest.approx(4.7, abs=0.01)


@pytest.mark.parametrize("radius", [0.0, -1.0, float("nan"), 200.0])
def test_it_refuses_a_radius_out_of_range(radius):
    with pytest.raises(ValueError, match="radius above 0"):
        round_colours([50, 0, 0], radius)


def test_it_refuses_rounds_and_counts_out_of_range():
    with pytest.raises(ValueError, match="from 1 to 100"):
        round_colours([50, 0, 0], 3.0, 101)
    with pytest.raises(ValueError, match="numbered from 1"):
        round_radius(0)
    with pytest.raises(ValueError, match="at least 1"):
        ball_points(0)
