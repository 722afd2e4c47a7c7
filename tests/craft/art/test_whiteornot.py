"""Whether white is needed, against colour differences of another library."""

import coloraide
import numpy as np
import pytest
from PIL import Image
from shapely.geometry import box as rectangle

from decaljobs.craft.art.whiteornot import (
    on_clear_film,
    preview_clear_alone,
    preview_laminated,
    white_or_not,
)

GREEN_PAINT, WHITE_PAINT = (60, 90, 50), (255, 255, 255)


def flag(*colours: tuple[int, int, int]) -> Image.Image:
    """Stripes of 40 × 40 px side by side, on nothing."""
    image = Image.new("RGBA", (40 * len(colours) + 20, 60))
    for index, colour in enumerate(colours):
        image.paste((*colour, 255), (10 + 40 * index, 10, 50 + 40 * index, 50))
    return image


def test_it_multiplies_reflectances_in_linear_light():
    """Half the light through half the light is a quarter: sRGB 188 over 188 is 137."""
    half = on_clear_film([188, 188, 188], [188, 188, 188])
    assert half == pytest.approx([137] * 3, abs=1)
    assert on_clear_film([255, 255, 255], GREEN_PAINT) == pytest.approx(GREEN_PAINT)
    assert on_clear_film([10, 20, 30], WHITE_PAINT) == pytest.approx([10, 20, 30])


def test_it_tells_each_colour_s_change_as_another_library_does():
    """ΔE2000 by coloraide (CIE 142-2001) between the drawn and the seen colour."""
    found = white_or_not(flag((220, 40, 30), (250, 230, 60), (20, 20, 20)), GREEN_PAINT)
    assert len(found.regions) == 3
    assert sum(region.share for region in found.regions) == pytest.approx(1, abs=0.01)
    for region in found.regions:
        drawn, seen = (
            coloraide.Color("srgb", [value / 255 for value in colour]).convert("lab-d65")
            for colour in (region.drawn, tuple(on_clear_film(region.drawn, GREEN_PAINT)))
        )
        assert region.difference == pytest.approx(drawn.delta_e(seen, method="2000"), abs=0.01)
    differences = [region.difference for region in found.regions]
    assert differences == sorted(differences, reverse=True)


@pytest.mark.parametrize(
    ("art", "paint", "verdict"),
    [
        ((250, 230, 60), GREEN_PAINT, "laminated"),
        ((250, 230, 60), WHITE_PAINT, "clear alone"),
        ((5, 5, 5), GREEN_PAINT, "clear alone"),
        ((200, 60, 50), (240, 240, 240), "either"),
    ],
)
def test_it_comes_to_a_verdict(art, paint, verdict):
    found = white_or_not(flag(art), paint)
    assert found.verdict == verdict
    assert f"{found.regions[0].difference:.1f}" in found.reason


def test_it_lets_a_colour_that_hardly_shows_decide_nothing():
    image = flag((5, 5, 5))
    image.putpixel((30, 30), (255, 255, 255, 255))
    assert white_or_not(image, GREEN_PAINT).verdict == "clear alone"


def test_it_shows_both_builds_side_by_side():
    """Within the base the print keeps its colour, outside it the paint shines through."""
    image = flag((250, 230, 60))
    alone = np.asarray(preview_clear_alone(image, GREEN_PAINT), int)
    # a base over the left half of the stripe; a pixel is 0.1 mm
    laminated = np.asarray(preview_laminated(image, GREEN_PAINT, rectangle(1, 1, 3, 5), 0.1), int)
    through = np.round(on_clear_film([250, 230, 60], GREEN_PAINT))
    assert (alone[30, 30] == through).all()
    assert (laminated[30, 20] == (250, 230, 60)).all()
    assert (laminated[30, 29] == (250, 230, 60)).all(), "the base's last pixel"
    assert (laminated[30, 30] == through).all(), "the first beyond it"
    for picture in (alone, laminated):
        assert (picture[2, 2] == GREEN_PAINT).all()
