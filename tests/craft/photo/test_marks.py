import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from decaljobs.craft.photo.marks import (
    edge_width,
    find_marks,
    project,
    sample,
    solve_perspective,
)
from decaljobs.craft.trial.sheet import FRAME_WIDTH, MARK, MARK_HOLE, PAPER_LAYOUT

CORNERS = np.array([[0, 0], [FRAME_WIDTH, 0], [FRAME_WIDTH, 120], [0, 120]])


def drawn(quad, shape=(630, 840), desk=110.0, blur=0.0, skip=()):
    """A grey picture of the five marks alone, on paper, seen so that the frame fills a quad."""
    matrix = solve_perspective(CORNERS, 0.7 * np.array(quad, dtype=float))
    back = np.linalg.inv(matrix)
    fine = 2
    y, x = np.indices((shape[0] * fine, shape[1] * fine)) / fine - 0.5 + 0.5 / fine
    mm = project(back, np.stack([x, y], axis=-1))
    paper = (mm[..., 0] > -12) & (mm[..., 0] < 192) & (mm[..., 1] > -12) & (mm[..., 1] < 132)
    grey = np.where(paper, 220.0, desk)
    for number, box in enumerate((*PAPER_LAYOUT.corners, PAPER_LAYOUT.orientation)):
        if number in skip:
            continue
        aside = np.abs(mm - box.centre)
        ink = (aside.max(axis=-1) < MARK / 2) & (
            np.hypot(*np.moveaxis(aside, -1, 0)) > MARK_HOLE / 2
        )
        grey[ink] = 25.0
    small = grey.reshape(shape[0], fine, shape[1], fine).mean(axis=(1, 3))
    if blur:
        small = gaussian_filter(small, blur)
    return small.astype(np.float32), matrix


QUADS = {
    "straight": [(150, 150), (1050, 150), (1050, 750), (150, 750)],
    "upside down": [(1050, 750), (150, 750), (150, 150), (1050, 150)],
    "on its side": [(800, 60), (800, 840), (280, 840), (280, 60)],
    "askew": [(220, 170), (1000, 90), (1100, 800), (130, 700)],
}


@pytest.mark.parametrize("quad", QUADS.values(), ids=QUADS.keys())
@pytest.mark.parametrize("desk", [20.0, 110.0, 250.0])
def test_it_finds_every_place_of_the_sheet(quad, desk):
    grey, matrix = drawn(quad, desk=desk)
    found = find_marks(grey, PAPER_LAYOUT)
    places = np.array([box.centre for box in PAPER_LAYOUT.patches] + [PAPER_LAYOUT.paint.centre])
    off = np.hypot(*(found.pixels(places) - project(matrix, places)).T)
    # A patch of 12 mm is about 40 pixels wide here.
    assert off.max() < 1.0


@pytest.mark.slow
def test_it_measures_how_sharp_the_marks_are():
    widths = []
    for blur in (0.0, 1.4, 2.8):
        grey, _ = drawn(QUADS["straight"], blur=blur)
        widths.append(edge_width(grey, find_marks(grey, PAPER_LAYOUT), PAPER_LAYOUT))
    # From a tenth to nine tenths a Gaussian edge is 2.56 of its spreads wide; 3.5 pixels are 1 mm.
    assert widths[0] < 0.6
    assert widths[1] == pytest.approx(2.56 * 1.4 / 3.5, rel=0.15)
    assert widths[2] == pytest.approx(2.56 * 2.8 / 3.5, rel=0.15)


def test_it_says_how_many_pixels_a_mm_takes():
    grey, _ = drawn(QUADS["straight"])
    assert find_marks(grey, PAPER_LAYOUT).scale((90.0, 60.0)) == pytest.approx(3.5, rel=0.01)


@pytest.mark.parametrize("missing", range(5))
def test_it_refuses_with_any_mark_missing(missing):
    grey, _ = drawn(QUADS["askew"], skip=(missing,))
    with pytest.raises(ValueError, match="only 4 of the sheet's 5") as refused:
        find_marks(grey, PAPER_LAYOUT)
    assert len(refused.value.found) == 4


def test_it_refuses_a_mirrored_sheet():
    grey, _ = drawn(QUADS["straight"])
    with pytest.raises(ValueError, match="do not fit"):
        find_marks(np.ascontiguousarray(grey[:, ::-1]), PAPER_LAYOUT)


def test_it_solves_a_perspective_from_more_than_four_places():
    matrix = np.array([[4.0, 0.3, 50.0], [-0.2, 3.8, 70.0], [1e-4, -2e-4, 1.0]])
    places = np.random.default_rng(4).uniform(0, 180, (9, 2))
    assert np.allclose(solve_perspective(places, project(matrix, places)), matrix, atol=1e-6)


def test_it_refuses_places_that_give_no_perspective():
    line = np.array([[0, 0], [1, 1], [2, 2], [3, 3]])
    with pytest.raises(ValueError, match="one line"):
        solve_perspective(line, line)
    with pytest.raises(ValueError, match="at least 4"):
        solve_perspective(line[:3], line[:3])


def test_it_samples_between_pixels_and_never_above_white():
    picture = np.array([[0, 100], [200, 255]], dtype=np.uint8)
    assert sample(picture, np.array([[0.5, 0.5]]))[0] == pytest.approx(138.75)
    assert sample(picture, np.array([[9.0, 9.0]]))[0] == 255.0
