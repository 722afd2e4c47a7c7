"""The band's colour and the light areas, also of a picture cropped to its art."""

import pytest
from PIL import Image

from decaljobs.craft.art.recolour import recolour_band
from decaljobs.craft.artwork import measure

NAVY, GREEN, WHITE = (0, 0, 128), (20, 60, 30), (255, 255, 255)


def a_panel(border: int) -> Image.Image:
    """A white panel of 12 × 8 mm with a navy band of 0.3 mm, on so many pixels of white paper."""
    page = Image.new("RGB", (120 + 2 * border, 80 + 2 * border), "white")
    page.paste(NAVY, (border, border, 120 + border, 80 + border))
    page.paste(WHITE, (3 + border, 3 + border, 117 + border, 77 + border))
    return page


@pytest.mark.parametrize("border", [0, 1, 4])
def test_it_finds_the_band_however_much_paper_lies_round_the_art(border):
    # drawn 3 px wide, at 0.1 mm to the pixel
    found = measure(a_panel(border), width_mm=12)
    assert found.band_colour == NAVY
    assert found.band.median_mm == pytest.approx(0.3, abs=0.02)
    assert found.band.missing_mm == 0


@pytest.mark.parametrize("border", [0, 1, 4])
def test_it_recolours_the_band_however_much_paper_lies_round_the_art(border):
    made = recolour_band(a_panel(border), 0.1, GREEN)
    assert made.getpixel((border + 1, border + 40)) == GREEN
    assert made.getpixel((border + 60, border + 40)) == WHITE
