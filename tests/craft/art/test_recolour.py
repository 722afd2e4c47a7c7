"""The band widened and recoloured: exact to a part of a pixel, edges as smooth as before."""

import numpy as np
import pytest
from PIL import Image

from decaljobs.craft.art.recolour import recolour_band, widen_band
from decaljobs.craft.artwork import measure
from tests.craft.artshapes import cut, disc, draw, on_paper

PIXEL = 25.4 / 600
BLUE, WHITE = (20, 40, 110), (255, 255, 255)


@pytest.fixture(scope="module")
def art() -> Image.Image:
    return draw(disc(12, 12, 10), disc(12.3, 12, 9), (24, 24), 600)


@pytest.mark.parametrize("by", [0.05, 0.5, 1.333])
@pytest.mark.parametrize("paper", [False, True])
def test_it_widens_the_band_by_exactly_so_much(art: Image.Image, by: float, paper: bool):
    image = on_paper(art) if paper else art
    wider = widen_band(image, PIXEL, by, (20, 20), (0, 0, 0))
    assert wider.image.mode == image.mode
    assert (wider.width_mm, wider.height_mm) == (20 + 2 * by, 20 + 2 * by)
    found = measure(wider.image, dpi=600)
    assert found.width_mm == pytest.approx(20 + 2 * by, abs=0.005)
    assert found.band.min_mm == pytest.approx(0.7 + by, abs=0.005)
    assert found.smallest_light_detail_mm == pytest.approx(18, abs=0.01), "light keeps its size"


def test_it_leaves_no_seam_where_the_old_edge_was(art: Image.Image):
    for image in (art, on_paper(art)):
        wider = np.asarray(widen_band(image, PIXEL, 0.8, (20, 20), (0, 0, 0)).image, int)
        middle, left = wider.shape[0] // 2, np.argmax(wider[wider.shape[0] // 2].min(axis=-1) < 255)
        band = wider[middle, left + 3 : left + 30, :3]
        assert band.max() <= 2


def test_it_narrows_a_hole_by_as_much():
    ring = draw(
        cut(disc(12, 12, 10), disc(12, 12, 3)), cut(disc(12, 12, 9), disc(12, 12, 4)), (24, 24), 600
    )
    found = measure(widen_band(ring, PIXEL, 0.5, (20, 20), (0, 0, 0)).image, dpi=600)
    (hole,) = found.silhouette.geoms[0].interiors
    assert hole.length / (2 * np.pi) == pytest.approx(2.5, abs=0.01)
    assert found.band.p05_mm == pytest.approx(1.5, abs=0.005)


def test_it_takes_another_colour_for_what_it_adds(art: Image.Image):
    wider = widen_band(art, PIXEL, 1, (20, 20), BLUE)
    assert measure(wider.image, dpi=600).band_colour == BLUE
    # From the left: 1 mm is new, 1.3 mm is the band as it was, then comes the light.
    row = np.asarray(wider.image)[wider.image.height // 2]
    left = np.argmax(row[:, 3] > 127)
    new, old, light = (tuple(row[left + round(mm / PIXEL), :3]) for mm in (0.5, 1.6, 8))
    middle = art.getpixel((art.width // 2, art.height // 2))[:3]
    assert (new, old, light) == (BLUE, (0, 0, 0), middle)


@pytest.mark.parametrize("by", [0.0, -1, 21, float("nan")])
def test_it_refuses_widths_it_cannot_mean(art: Image.Image, by: float):
    with pytest.raises(ValueError, match=r"0.01 to 20 mm"):
        widen_band(art, PIXEL, by, (20, 20), (0, 0, 0))


@pytest.mark.parametrize("paper", [False, True])
def test_it_recolours_the_band_and_keeps_every_edge(art: Image.Image, paper: bool):
    """As if it had been drawn in the new colour: no pixel off by more than a few steps."""
    image = on_paper(art) if paper else art
    anew = draw(disc(12, 12, 10), disc(12.3, 12, 9), (24, 24), 600, band=BLUE)
    wanted = np.asarray(on_paper(anew) if paper else anew, int)
    found = np.asarray(recolour_band(image, PIXEL, BLUE), int)
    seen = wanted[..., 3] > 25 if not paper else np.ones(wanted.shape[:2], bool)
    assert np.abs(found - wanted)[seen].max() <= 12
    assert measure(recolour_band(image, PIXEL, BLUE), dpi=600).band_colour == BLUE


def test_it_recolours_a_band_that_reaches_the_pictures_edge():
    image = Image.new("RGB", (240, 120), (22, 32, 43))
    image.paste((247, 241, 223), (10, 10, 230, 110))
    found = recolour_band(image, 0.1, BLUE)
    assert (found.getpixel((2, 2)), found.getpixel((120, 60))) == (BLUE, (247, 241, 223))


def test_it_leaves_details_of_the_same_colour_unless_asked():
    image = draw(disc(12, 12, 10), cut(disc(12, 12, 9), disc(12, 12, 3)), (24, 24), 600)
    middle = (image.width // 2, image.height // 2)
    assert recolour_band(image, PIXEL, BLUE).getpixel(middle)[:3] == (0, 0, 0)
    assert recolour_band(image, PIXEL, BLUE, details_too=True).getpixel(middle)[:3] == BLUE


def test_it_refuses_to_recolour_what_is_not_there():
    plain = draw(disc(12, 12, 10), disc(12, 12, 11), (24, 24), 300)
    with pytest.raises(ValueError, match="no outline band"):
        recolour_band(plain, 25.4 / 300, BLUE)
