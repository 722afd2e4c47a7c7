import numpy as np
import pytest

from decaljobs.craft import colour


def test_it_takes_srgb_to_light_and_back():
    values = np.arange(256.0)
    assert np.allclose(colour.linear_to_srgb(colour.srgb_to_linear(values)), values, atol=1e-9)


def test_it_takes_every_fifteenth_value_to_cielab_and_back():
    steps = np.arange(0.0, 256.0, 15.0)
    rgb = np.stack(np.meshgrid(steps, steps, steps), axis=-1)
    back, inside = colour.srgb_from_lab(colour.lab_from_srgb(rgb))
    assert inside.all()
    assert np.abs(back - rgb).max() < 1e-6


def test_it_says_what_lies_outside_the_gamut_and_clips_it():
    rgb, inside = colour.srgb_from_lab([[60.0, -120.0, 80.0], [60.0, 5.0, 5.0]])
    assert inside.tolist() == [False, True]
    assert rgb.min() >= 0.0 and rgb.max() <= 255.0


def test_it_keeps_greys_without_colour():
    lab = colour.lab_from_srgb(np.repeat(np.arange(256.0)[:, None], 3, axis=1))
    assert np.abs(lab[:, 1:]).max() < 1e-9
    assert np.all(np.diff(lab[:, 0]) > 0)


@pytest.mark.parametrize("value", [-0.1, 255.1, float("nan"), float("inf")])
def test_it_refuses_srgb_out_of_range(value):
    with pytest.raises(ValueError, match="must be 0 to 255"):
        colour.lab_from_srgb([value, 0, 0])


@pytest.mark.parametrize("value", [-0.01, 1.01, float("nan")])
def test_it_refuses_light_out_of_range(value):
    with pytest.raises(ValueError, match="must be 0 to 1"):
        colour.linear_to_srgb([value])


def test_it_refuses_a_colour_without_three_values():
    with pytest.raises(ValueError, match="three values"):
        colour.lab_from_srgb([1, 2])
    with pytest.raises(ValueError, match="three values"):
        colour.ciede2000([1, 2, 3], 5.0)


def test_it_refuses_cielab_that_is_no_number():
    with pytest.raises(ValueError, match="finite"):
        colour.srgb_from_lab([float("nan"), 0, 0])


def test_it_broadcasts_one_colour_against_many():
    many = np.array([[50.0, 0, 0], [60.0, 10, 5], [20.0, -5, -9]])
    differences = colour.ciede2000(many, [50.0, 0, 0])
    assert differences.shape == (3,)
    assert differences[0] == 0.0
    assert np.all(differences[1:] > 5)


def test_it_gives_no_difference_to_the_same_colour():
    lab = np.random.default_rng(3).uniform([0, -90, -90], [100, 90, 90], (200, 3))
    assert np.abs(colour.ciede2000(lab, lab)).max() < 1e-9


def test_it_reads_and_writes_hex_colours():
    assert colour.parse_hex("#00fF7a") == (0, 255, 122)
    assert colour.format_hex(colour.parse_hex("#00ff7a")) == "#00ff7a"


@pytest.mark.parametrize(
    "text",
    ["", "1e3d59", "#1e3d5", "#1e3d599", "#1e3d5g", "#1e3", " #1e3d59", "#1e3d59\n", "#+1+1+1"],
)
def test_it_refuses_what_is_no_hex_colour(text):
    with pytest.raises(ValueError, match="#rrggbb"):
        colour.parse_hex(text)


def test_it_refuses_to_write_what_is_no_colour():
    with pytest.raises(ValueError, match="must be 0 to 255"):
        colour.format_hex([0, 0, 256])
    with pytest.raises(ValueError, match="three values"):
        colour.format_hex([0, 0])


def test_it_measures_contrast_both_ways_alike():
    assert colour.contrast_ratio([10, 20, 30], [200, 210, 220]) == colour.contrast_ratio(
        [200, 210, 220], [10, 20, 30]
    )
