"""sRGB and CIELAB D65 against the standard's printed numbers and against another library."""

import numpy as np
from coloraide import Color

from decaljobs.craft import colour


def test_it_holds_the_matrix_that_the_standard_prints():
    # IEC 61966-2-1:1999, printed with four decimals.
    printed = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    assert np.abs(colour.LINEAR_TO_XYZ - printed).max() <= 5e-5


def test_it_inverts_to_the_matrix_that_the_standard_prints():
    # IEC 61966-2-1:1999; its inverse was taken of the rounded matrix, hence 1e-3.
    printed = [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]]
    assert np.abs(colour.XYZ_TO_LINEAR - printed).max() <= 1e-3


def test_it_holds_the_white_that_the_standard_prints():
    # IEC 61966-2-1:1999: D65 as 0.9505, 1.0000, 1.0890.
    assert np.abs(colour.D65_WHITE - [0.9505, 1.0, 1.0890]).max() <= 1e-4


def test_it_follows_the_transfer_curve_of_the_standard():
    # IEC 61966-2-1:1999: V = 12.92 L up to 0.0031308, then 1.055 L^(1/2.4) - 0.055, by hand.
    assert np.isclose(colour.linear_to_srgb(0.002) / 255, 0.02584)
    assert np.isclose(colour.linear_to_srgb(0.5) / 255, 1.055 * 0.5 ** (1 / 2.4) - 0.055)
    assert np.isclose(colour.srgb_to_linear(10.0), 10 / 255 / 12.92)
    assert np.isclose(colour.srgb_to_linear(11.0), ((11 / 255 + 0.055) / 1.055) ** 2.4)


def test_it_agrees_with_coloraide_on_random_colours():
    rgb = np.random.default_rng(5).integers(0, 256, (500, 3))
    theirs = [Color("srgb", list(one / 255)).convert("lab-d65").coords() for one in rgb]
    assert np.abs(colour.lab_from_srgb(rgb) - theirs).max() < 1e-4


def test_it_agrees_with_coloraide_on_the_gamut():
    lab = np.random.default_rng(6).uniform([0, -100, -100], [100, 100, 100], (500, 3))
    _, inside = colour.srgb_from_lab(lab)
    theirs = [Color("lab-d65", list(one)).convert("srgb").in_gamut(tolerance=1e-6) for one in lab]
    assert 20 < sum(theirs) < 480
    assert inside.tolist() == theirs


def test_it_agrees_with_coloraide_on_contrast():
    rgb = np.random.default_rng(7).integers(0, 256, (100, 2, 3))
    theirs = [
        Color("srgb", list(one / 255)).contrast(Color("srgb", list(other / 255)), method="wcag21")
        for one, other in rgb
    ]
    assert np.abs(colour.contrast_ratio(rgb[:, 0], rgb[:, 1]) - theirs).max() < 0.01
