import time
from dataclasses import replace

import numpy as np
import pytest

from decaljobs.craft.colour import ciede2000
from decaljobs.craft.colourtrial import forecast, photo_answer, sheet_of
from decaljobs.craft.photo.load import Photo, PhotoRefused, load_photo
from decaljobs.craft.trial.photo import read_photo
from decaljobs.craft.trial.sheet import SheetCode, paper_sheet
from tests.benchmarks.colourcamera import Glare, Scene, fill, with_glare
from tests.craft.trialphotos import (
    PAINT,
    a_photo,
    a_reading,
    a_scene,
    the_printer,
    the_round,
    the_scene,
    true_differences,
)

SHEET = sheet_of(12, the_round())


def middle_off(reading) -> float:
    """How far measured differences are off the truth where it matters: near the paint."""
    near = ciede2000(true_differences() + PAINT, PAINT) < 12
    off = (reading.differences - true_differences())[near]
    return float(np.median(np.linalg.norm(off, axis=1)))


@pytest.fixture(scope="module")
def reading():
    return a_reading(a_photo())


def test_it_measures_every_patch_against_the_paint(reading):
    # The patches scatter by up to 0.5 on each axis and the paper is not quite white.
    assert reading.good.all()
    assert middle_off(reading) < 1.5


def test_it_leads_to_a_colour_that_prints_like_the_paint(reading):
    ahead = forecast([replace(the_round(), photo=photo_answer(reading))])
    assert ahead.by == "photo"
    assert ciede2000(the_printer().lab(np.array(ahead.rgb)), PAINT) < 2.0


@pytest.mark.parametrize(
    "changes",
    [
        {"turn": np.pi},
        {"turn": 0.5, "fill": 0.6},
        {"tilt": 0.25},
        {"gains": (0.6, 1.0, 0.7)},
        {"exposure": 0.35},
        {"fall": (0.4, -0.2)},
        {"distortion": 0.01},
        {"quality": 75, "noise": 0.012},
    ],
    ids=["upside down", "turned", "askew", "warm", "dark", "uneven", "lens", "noisy"],
)
def test_it_reads_the_same_from_other_photos(reading, changes):
    again = a_reading(a_photo(**changes))
    moved = np.linalg.norm(again.differences - reading.differences, axis=1)
    assert np.median(moved) < 1.5


def test_it_takes_the_same_for_a_white_paint_and_a_black_one():
    for paint in (np.array([88.0, 0.0, 3.0]), np.array([9.0, 0.0, 0.0])):
        reading = a_reading(a_photo(a_scene(paint)))
        # A share of the bare paper reads lighter than the paint does by itself.
        assert abs(reading.paint[0] - paint[0]) < 8.0


def refusal(data: bytes, sheet=SHEET) -> PhotoRefused:
    with pytest.raises(PhotoRefused) as refused:
        read_photo(load_photo(data), sheet)
    return refused.value


def test_it_refuses_the_sheet_of_another_round():
    other = paper_sheet(SheetCode(12, 2), the_round().colours)
    assert "this is the sheet of T12 R1, not of T12 R2" in refusal(a_photo(), other).reason


def test_it_refuses_the_same_number_with_other_colours():
    other = paper_sheet(SheetCode(12, 1), the_round().colours[::-1])
    assert "other colours" in refusal(a_photo(), other).reason


def test_it_refuses_a_blurred_photo():
    assert "blurred" in refusal(a_photo(blur=4.0)).reason


def test_it_refuses_a_burnt_out_photo():
    refused = refusal(a_photo(exposure=1.4))
    assert "burnt out" in refused.reason
    assert len(refused.found) == 5


def test_it_refuses_a_photo_that_is_too_dark():
    assert "too dark" in refusal(a_photo(exposure=0.06, noise=0.001)).reason


def ramp_sheet(greys: dict[int, float]) -> Scene:
    """The scene with some steps of the grey ramp printed in other linear light."""
    light = the_scene().light.copy()
    for step, grey in greys.items():
        fill(light, SHEET.layout.ramp[step], np.full(3, grey))
    return replace(the_scene(), light=light)


def test_it_takes_a_print_whose_two_darkest_steps_are_alike():
    bare = the_printer().light(np.zeros(3)).mean()
    assert a_reading(a_photo(ramp_sheet({0: bare, 1: bare}))).good.mean() > 0.9


def test_it_refuses_a_ramp_that_does_not_rise():
    with pytest.raises(PhotoRefused, match="ramp does not rise"):
        a_reading(a_photo(ramp_sheet({3: 0.6})))


def test_it_refuses_a_sheet_that_is_too_small():
    assert "closer" in refusal(a_photo(fill=0.24)).reason


def test_it_refuses_a_place_without_paint():
    assert "no painted part" in refusal(a_photo(a_scene(None))).reason


def test_it_refuses_too_little_paint():
    assert "too little paint" in refusal(a_photo(a_scene(part=(9.0, 9.0)))).reason


def test_it_refuses_a_light_mirrored_in_the_paint():
    glare = with_glare(the_scene(), Glare(SHEET.layout.paint.centre, 8.0, 0.6))
    assert "glare" in refusal(a_photo(glare)).reason


def test_it_refuses_a_soft_reflection_on_the_paint():
    x, y = SHEET.layout.paint.centre
    glare = with_glare(the_scene(), Glare((x + 12, y), 15.0, 0.1))
    assert "glare" in refusal(a_photo(glare)).reason


@pytest.mark.parametrize("edge", [2.0, 5.0], ids=["soft", "window"])
def test_it_does_not_take_a_wide_reflection_for_the_paint(edge):
    # It lifts the paint evenly, by far more than a good match.
    glare = Glare(SHEET.layout.paint.centre, 33.0, 0.12, edge=edge)
    with pytest.raises(PhotoRefused, match="reflection"):
        a_reading(a_photo(with_glare(the_scene(), glare)))


def test_it_sees_a_window_that_covers_the_part_and_no_square():
    # A clear edge round the part: the part is lifted evenly, and the paper beside it shows that.
    glare = Glare(SHEET.layout.paint.centre, 22.0, 0.06, edge=12.0)
    with pytest.raises(PhotoRefused, match="reflection"):
        a_reading(a_photo(with_glare(the_scene(), glare)))


def test_it_takes_a_part_that_lies_over_black_squares():
    reading = a_reading(a_photo(a_scene(part=(46.0, 34.0))))
    assert not reading.doubtful
    assert middle_off(reading) < 1.5


def test_it_does_not_doubt_a_clean_photo(reading):
    assert not reading.doubtful


@pytest.mark.slow
def test_it_reads_a_photo_of_12_megapixels_in_two_seconds():
    data = a_photo(width=4000, height=3000)
    start = time.process_time()
    reading = a_reading(data)
    assert time.process_time() - start < 2.0
    off = np.linalg.norm(reading.differences - true_differences(), axis=1)
    assert np.median(off[reading.apart < 12]) < 2.5


def test_it_leaves_out_a_patch_with_a_reflection_and_says_so():
    glare = with_glare(the_scene(), Glare(SHEET.layout.patches[9].centre, 5.0, 0.8))
    reading = a_reading(a_photo(glare))
    assert not reading.good[9]
    assert any("10" in remark for remark in reading.remarks)
    assert reading.good.sum() >= 30


def test_it_refuses_a_shadow_across_the_sheet():
    scene = the_scene()
    light = scene.light.copy()
    light[:, : light.shape[1] * 2 // 5] *= 0.7
    assert "shadow" in refusal(a_photo(replace(scene, light=light))).reason


def test_it_refuses_a_photo_with_a_mark_hidden_and_shows_the_others():
    scene = the_scene()
    light = scene.light.copy()
    height, width = light.shape[:2]
    light[height // 2 :, width * 2 // 3 :] = 0.3
    refused = refusal(a_photo(replace(scene, light=light)))
    assert "only 4 of the sheet's 5 square marks" in refused.reason
    assert len(refused.found) == 4


def test_it_refuses_a_photo_of_something_else():
    noise = np.random.default_rng(1).integers(0, 255, (60, 80, 3), dtype=np.uint8)
    photo = Photo(noise.repeat(12, axis=0).repeat(12, axis=1))
    with pytest.raises(PhotoRefused, match="square marks"):
        read_photo(photo, SHEET)


def test_it_refuses_a_black_photo():
    with pytest.raises(PhotoRefused, match="only 0 of"):
        read_photo(Photo(np.zeros((900, 1200, 3), dtype=np.uint8)), SHEET)
