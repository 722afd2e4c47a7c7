"""Measuring told from shapes whose answer is known exactly.

The tolerances are a little above what is reached, and well inside 0.02 mm (0.03 at 300 dpi).
"""

from functools import cache

import numpy as np
import pytest
from PIL import Image

from decaljobs.craft.art.advice import advice, largest_width_mm
from decaljobs.craft.artwork import Measurement, measure
from decaljobs.craft.pictures import PictureError
from tests.craft.artshapes import Shape, box, cut, disc, draw, union

DPIS = (300, 600, 1200)
# mm, by dpi
CLOSE = {300: 0.009, 600: 0.005, 1200: 0.004}


@cache
def eccentric(dpi: int) -> Measurement:
    """A light disc of 9 mm in a black one of 10 mm, 0.3 mm out of centre."""
    return measured(disc(12.03, 12.01, 10), disc(12.33, 12.01, 9), dpi)


def measured(silhouette: Shape, light: Shape, dpi: int, size=(24, 24), **options) -> Measurement:
    fine = 4 if dpi > 600 else 8
    return measure(draw(silhouette, light, size, dpi, fine=fine), dpi=dpi, **options)


def away(rings, x: float, y: float) -> np.ndarray:
    points = np.concatenate(rings)
    return np.hypot(points[:, 0] - x, points[:, 1] - y)


@pytest.mark.parametrize("dpi", DPIS)
def test_it_measures_a_disc_in_a_disc(dpi: int):
    found = measured(disc(12.03, 12.01, 10), disc(12.03, 12.01, 9), dpi)
    close = CLOSE[dpi]
    assert found.width_mm == pytest.approx(20, abs=close)
    assert found.height_mm == pytest.approx(20, abs=close)
    for width in (found.band.min_mm, found.band.p05_mm, found.band.median_mm):
        assert width == pytest.approx(1, abs=close)
    assert np.abs(away(found.base.line.rings, 12.03, 12.01) - 9.5).max() < close
    assert np.abs(away(found.clear.rings, 12.03, 12.01) - 11).max() < close
    assert (
        np.abs(away([np.array(found.silhouette.geoms[0].exterior.coords)], 12.03, 12.01) - 10).max()
        < close
    )
    assert found.base.line.length_mm == pytest.approx(2 * np.pi * 9.5, rel=0.001)
    assert found.base.line.tightest_radius_mm == pytest.approx(9.5, rel=0.1)
    assert found.base.line.clearance_mm == pytest.approx(0.5, abs=close)
    assert found.smallest_light_detail_mm == pytest.approx(18, abs=2 * close)
    assert (found.islands, found.holes, len(found.relief_cuts)) == (1, 0, 2)


@pytest.mark.parametrize("dpi", DPIS)
def test_it_cuts_an_ellipse_between_eccentric_discs(dpi: int):
    """Points equally far from both circles: the distances to the centres sum to R + r."""
    found = eccentric(dpi)
    rings = found.base.line.rings
    total = away(rings, 12.03, 12.01) + away(rings, 12.33, 12.01)
    assert np.abs(total - 19).max() / 2 < CLOSE[dpi]
    assert found.band.min_mm == pytest.approx(0.7, abs=CLOSE[dpi])
    x, y = found.band.min_at_mm
    assert x == pytest.approx(22.03, abs=0.3)
    assert y == pytest.approx(12.01, abs=1.5), "the narrowest place is flat along the edge"


@pytest.mark.parametrize("dpi", DPIS)
def test_it_tells_how_the_width_is_spread_along_the_edge(dpi: int):
    """From a point at angle t the light disc's centre is √(R² + e² − 2Re·cos t) away."""
    turn = np.linspace(0, 2 * np.pi, 100_001)
    true = np.sqrt(100 + 0.09 - 6 * np.cos(turn)) - 9
    band = eccentric(dpi).band
    assert band.p05_mm == pytest.approx(np.percentile(true, 5), abs=CLOSE[dpi])
    assert band.median_mm == pytest.approx(np.median(true), abs=CLOSE[dpi])


@pytest.mark.parametrize("dpi", DPIS)
def test_it_measures_a_rounded_rectangle(dpi: int):
    found = measured(box(12, 7, 20.02, 10.02, 3), box(12, 7, 18.42, 8.42, 2.2), dpi, (24, 14))
    middle = box(12, 7, 19.22, 9.22, 2.6)
    outside = box(12, 7, 22.02, 12.02, 4)
    for line, shape in ((found.base.line, middle), (found.clear, outside)):
        points = np.concatenate(line.rings)
        assert np.abs(shape(points[:, 0], points[:, 1])).max() < CLOSE[dpi]
    for width in (found.band.min_mm, found.band.p05_mm, found.band.median_mm):
        assert width == pytest.approx(0.8, abs=CLOSE[dpi])
    assert found.base.line.tightest_radius_mm == pytest.approx(2.6, rel=0.1)
    assert found.smallest_light_detail_mm == pytest.approx(8.42, abs=0.02)


@pytest.mark.parametrize("dpi", DPIS)
def test_it_cuts_both_edges_of_a_ring_and_fills_its_hole_for_the_clear(dpi: int):
    found = measured(
        cut(disc(12, 12, 10), disc(12, 12, 4)), cut(disc(12, 12, 9.2), disc(12, 12, 5)), dpi
    )
    assert (found.islands, found.holes) == (1, 1)
    inner, outer = sorted(found.base.line.rings, key=len)
    assert np.abs(away([inner], 12, 12) - 4.5).max() < CLOSE[dpi]
    assert np.abs(away([outer], 12, 12) - 9.6).max() < CLOSE[dpi]
    assert len(found.clear.rings) == 1
    assert found.smallest_light_detail_mm == pytest.approx(4.2, abs=0.015)
    assert found.band.p05_mm == pytest.approx(0.8, abs=CLOSE[dpi])


@pytest.mark.parametrize("dpi", DPIS)
def test_it_joins_the_clear_round_islands_that_are_near(dpi: int):
    """Gaps of 1.5 and 5 mm: with a margin of 1 mm the first two share their clear."""
    centres = (4, 11.5, 22.5)
    found = measured(
        union(*(disc(x, 5, 3) for x in centres)),
        union(*(disc(x, 5, 2.2) for x in centres)),
        dpi,
        (28, 10),
    )
    assert found.islands == 3
    assert len(found.base.line.rings) == 3
    assert len(found.clear.rings) == 2
    assert len(found.relief_cuts) == 4, "two ends and two joints"
    points = np.concatenate(found.clear.rings)
    near = np.min([np.hypot(points[:, 0] - x, points[:, 1] - 5) for x in centres], axis=0)
    assert near.min() > 4 - CLOSE[dpi], "nowhere nearer than the margin"


@pytest.mark.parametrize("dpi", DPIS)
def test_it_measures_an_edge_that_waves_as_a_cosine(dpi: int):
    """Each point of the wavy edge lies ρ − 9.1 from the light disc."""

    def wavy(x, y):
        return np.hypot(x - 12, y - 12) - 10 - 0.2 * np.cos(12 * np.arctan2(y - 12, x - 12))

    turn = np.linspace(0, 2 * np.pi, 200_001)
    radius = 10 + 0.2 * np.cos(12 * turn)
    step = np.hypot(radius, 2.4 * np.sin(12 * turn))
    order = np.argsort(radius)
    true = np.interp((0.05, 0.5), np.cumsum(step[order]) / step.sum(), radius[order] - 9.1)
    band = measured(wavy, disc(12, 12, 9.1), dpi).band
    assert band.min_mm == pytest.approx(0.7, abs=CLOSE[dpi])
    assert (band.p05_mm, band.median_mm) == pytest.approx(true, abs=CLOSE[dpi])


@pytest.mark.parametrize("dpi", DPIS)
def test_it_tells_how_much_edge_has_no_band(dpi: int):
    """A light disc of 9 mm, 2 mm out of centre, reaches the edge over 2·arccos(0.575) of it."""
    found = measured(disc(12, 12, 10), disc(14, 12, 9), dpi)
    assert found.band.min_mm == 0
    assert found.band.missing_mm == pytest.approx(20 * np.arccos(0.575), rel=0.02)
    assert found.base.inset_mm == pytest.approx(1.645 * np.hypot(0.15, 0.15))
    points = np.concatenate(found.base.line.rings)
    right = points[points[:, 0] > 20]
    assert (
        np.abs(10 - np.hypot(right[:, 0] - 12, right[:, 1] - 12) - found.base.inset_mm).max() < 0.02
    )
    assert found.clean_chance < 0.01
    assert any("no outline band along 19." in sentence for sentence in advice(found))


def test_it_does_not_call_a_thin_band_missing():
    """0.2 mm are under three pixels at 300 dpi."""
    found = measured(disc(12.03, 12.01, 10), disc(12.03, 12.01, 9.8), 300)
    assert found.band.missing_mm == 0
    assert found.band.median_mm == pytest.approx(0.2, abs=0.005)


def test_it_takes_a_light_edge_as_no_band_at_all():
    found = measured(disc(12, 12, 10), disc(12, 12, 11), 600)
    assert found.band_colour is None
    assert found.band.missing_mm == pytest.approx(2 * np.pi * 10, rel=0.001)
    assert np.abs(away(found.base.line.rings, 12, 12) - 10 + found.base.inset_mm).max() < 0.01
    assert any("edge of the art is light" in sentence for sentence in advice(found))


def test_it_cuts_no_base_for_art_without_light_areas():
    found = measured(disc(12, 12, 10), disc(12, 12, -1), 600)
    assert found.base is None
    assert found.clean_chance is None
    assert found.band is None
    assert any("nothing needs white" in sentence for sentence in advice(found))


def test_it_holds_art_of_one_bright_colour_to_need_white_all_over():
    red = draw(disc(12, 12, 10), disc(12, 12, -1), (24, 24), 300, band=(210, 30, 30))
    assert measure(red, dpi=300).band.missing_mm == pytest.approx(2 * np.pi * 10, rel=0.01)


@pytest.mark.parametrize("dpi", DPIS)
@pytest.mark.parametrize("width", [0.4, 0.8, 1.5])
def test_it_finds_the_smallest_detail_in_bars_dots_and_crossings(dpi: int, width: float):
    """A cross of wide bars fits a larger circle in its middle than its strokes are wide."""
    cross = union(box(12, 12, 16, width), box(12, 12, width, 16))
    dots = union(disc(5, 5, 1.2), disc(19, 5, 1.6))
    found = measured(box(12, 12, 22, 22), union(cross, dots), dpi)
    assert found.smallest_light_detail_mm == pytest.approx(width, abs=0.02)


@pytest.mark.parametrize("dpi", DPIS)
def test_it_overlooks_specks_and_pinholes_under_a_twelfth_of_a_square_millimetre(dpi: int):
    """0.08 mm² is a dot of 0.32 mm: one of 0.28 mm goes, one of 0.36 mm stays."""
    for diameter, counts in ((0.28, False), (0.36, True)):
        speck, hole, light = (disc(x, 3, diameter / 2) for x in (1, 12, 18))
        found = measured(
            union(speck, cut(box(12, 6, 18, 10), hole)),
            union(box(12, 8, 12, 3), light),
            dpi,
            (24, 12),
        )
        assert found.islands == 1 + counts
        assert found.holes == counts
        assert (found.smallest_light_detail_mm < 1) == counts


def test_it_keeps_its_answer_among_thousands_of_specks():
    image = np.asarray(draw(disc(12.03, 12.01, 10), disc(12.33, 12.01, 9), (24, 24), 600)).copy()
    chance = np.random.default_rng(5)
    rows, columns = np.mgrid[4:560:10, 4:560:10].reshape(2, -1) + chance.integers(0, 4, (2, 3136))
    x, y = (columns + 1) * 25.4 / 600, (rows + 1) * 25.4 / 600
    # specks that touch an edge would truly change it
    clear = (np.abs(np.hypot(x - 12.03, y - 12.01) - 10) > 0.25) & (
        np.abs(np.hypot(x - 12.33, y - 12.01) - 9) > 0.25
    )
    assert clear.sum() > 2500
    for row, column in zip(rows[clear], columns[clear], strict=True):
        image[row : row + 3, column : column + 3] = (0, 0, 0, 255)
    found, true = measure(Image.fromarray(image), width_mm=20), eccentric(600)
    assert (found.islands, found.holes) == (1, 0)
    assert found.width_mm == pytest.approx(20)
    assert found.band.min_mm == pytest.approx(true.band.min_mm, abs=0.003)
    assert found.band.median_mm == pytest.approx(true.band.median_mm, abs=0.003)
    assert found.base.line.length_mm == pytest.approx(true.base.line.length_mm, rel=0.001)


def test_it_takes_sizes_as_those_of_the_visible_art():
    """The same disc in a wide empty border, told by width, height and dpi."""
    image = draw(disc(22, 17, 10), disc(22, 17, 9), (44, 34), 600)
    for size in ({"width_mm": 20}, {"height_mm": 20}, {"dpi": 600}):
        found = measure(image, **size)
        assert found.width_mm == pytest.approx(20, abs=0.005)
        assert found.dpi == pytest.approx(600, rel=0.001)
        assert np.abs(away(found.base.line.rings, 22, 17) - 9.5).max() < 0.01, "border included"


def test_it_scales_with_the_size_asked_for():
    image = draw(disc(12, 12, 10), disc(12, 12, 9), (24, 24), 600)
    found = measure(image, width_mm=40)
    assert found.band.median_mm == pytest.approx(2, abs=0.01)
    assert found.dpi == pytest.approx(300, rel=0.001)


@pytest.mark.slow
def test_it_measures_a_reduced_picture_as_the_full_one():
    """At 1200 dpi and 44 mm across the picture has 4.3 megapixels and is reduced."""
    found = measured(disc(22, 22, 20), disc(22.3, 22, 19), 1200, (44, 44))
    assert found.dpi == pytest.approx(1200, rel=0.001)
    assert found.band.min_mm == pytest.approx(0.7, abs=0.005)
    total = away(found.base.line.rings, 22, 22) + away(found.base.line.rings, 22.3, 22)
    assert np.abs(total - 39).max() / 2 < 0.005


def test_it_takes_the_band_colour_it_is_given():
    """A white ring inside a red edge inside black: red is found, black can be told."""
    silhouette, red = disc(12, 12, 10), disc(12, 12, 9)
    image = draw(silhouette, red, (24, 24), 600, band=(120, 0, 0), colour=(255, 255, 255))
    assert measure(image, dpi=600).band_colour == (120, 0, 0)
    told = measure(image, dpi=600, band_colour=(255, 255, 255))
    assert told.band_colour == (255, 255, 255)
    assert told.band.missing_mm > 60, "now the red is what needs white, and it touches the edge"


def test_it_warns_of_few_pixels_with_the_largest_sensible_width():
    image = draw(disc(12, 12, 10), disc(12, 12, 9), (24, 24), 300)
    found = measure(image, width_mm=30)
    assert largest_width_mm(found) == pytest.approx(20, abs=0.01)
    assert advice(found)[0].startswith("At 30.0 mm wide the picture has 200 dpi")
    assert "at most 20.0 mm" in advice(found)[0]
    assert not advice(measure(image, width_mm=20))[0].startswith("At 20.0 mm")


@pytest.mark.parametrize(
    "size",
    [
        {},
        {"width_mm": 20, "dpi": 600},
        {"width_mm": 0.4},
        {"height_mm": 2001},
        {"dpi": 9},
        {"dpi": float("nan")},
    ],
)
def test_it_refuses_sizes_it_cannot_mean(size: dict):
    with pytest.raises(ValueError, match="lie|one of"):
        measure(Image.new("RGBA", (50, 50), (0, 0, 0, 255)), **size)


@pytest.mark.slow
def test_it_refuses_noise_with_a_sentence():
    """Four thousand squares of 0.4 mm that touch nowhere."""
    image = np.zeros((640, 640, 4), np.uint8)
    rows, columns = np.mgrid[1:640:10, 1:640:10].reshape(2, -1)
    for row, column in zip(rows, columns, strict=True):
        image[row : row + 8, column : column + 8] = 255
    with pytest.raises(PictureError, match="more than 3000 pieces"):
        measure(Image.fromarray(image), dpi=508)


def test_it_refuses_a_piece_with_hundreds_of_holes():
    """A sieve of 441 holes of 1 mm."""
    image = np.zeros((440, 440, 4), np.uint8)
    image[5:-5, 5:-5] = (0, 0, 0, 255)
    for row, column in np.ndindex(21, 21):
        image[10 + 20 * row : 20 + 20 * row, 10 + 20 * column : 20 + 20 * column] = 0
    with pytest.raises(PictureError, match="more than 400 holes"):
        measure(Image.fromarray(image), dpi=254)


def test_it_refuses_a_blank_picture():
    with pytest.raises(PictureError, match="blank"):
        measure(Image.new("RGBA", (50, 50)), width_mm=20)


def test_it_measures_art_that_fills_the_picture_to_its_border():
    found = measured(box(12, 6, 30, 20), box(12, 6, 22, 10), 300, (24, 12))
    assert found.width_mm == pytest.approx(24, abs=0.1)
    assert found.band.median_mm == pytest.approx(1, abs=0.02)


def test_it_tells_how_far_it_is():
    shares = []
    measure(draw(disc(6, 6, 5), disc(6, 6, 4), (12, 12), 300), dpi=300, told=shares.append)
    assert shares.count(0.3) > 4, "within one piece too, or nothing could end it there"
    assert shares == sorted(shares)
    assert 0 < shares[0] < 0.2 and 0.9 < shares[-1] < 1


@pytest.mark.parametrize("at", [0.1, 0.3, 0.85, 0.95])
def test_it_can_be_ended_on_the_way(at: float):
    def told(share: float) -> None:
        if share >= at:
            raise TimeoutError(share)

    with pytest.raises(TimeoutError):
        measure(draw(disc(6, 6, 5), disc(6, 6, 4), (12, 12), 300), dpi=300, told=told)
