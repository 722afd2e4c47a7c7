"""Art that no renderer smoothed: the cut keeps its clearance where a band is a pixel wide."""

import pytest
import shapely
from shapely.geometry import Polygon

from decaljobs.craft.art.advice import advice
from decaljobs.craft.art.outlines import Outline
from decaljobs.craft.art.rings import resampled
from decaljobs.craft.artwork import measure
from decaljobs.craft.knife.kniferoom import KnifeRoom, mended
from tests.craft.artshapes import box, draw
from tests.craft.roughart import least_share, rough_art


@pytest.mark.parametrize("seed", range(24))
def test_it_keeps_clear_on_rough_art(seed: int):
    """The benchmark of measuring tries 270 of these."""
    image, dpi = rough_art(seed)
    found = measure(image, dpi=dpi)
    assert least_share(found) >= 0.35
    assert found.base.short_at is None
    assert all(Polygon(ring).is_valid for ring in found.base.line.rings)


def test_it_says_where_a_band_is_of_a_pixel():
    found = measure(draw(box(6, 4, 10, 6), box(6, 4, 9.7, 5.7), (12, 8), 300), dpi=300)
    sentence = next(s for s in advice(found) if "two pixels" in s)
    x, y = found.band.min_at_mm
    assert f"{x:.1f} mm from the picture's left and {y:.1f} mm from its top" in sentence


def test_it_mends_a_line_that_cuts_across_a_corner_of_the_band():
    edge, light = shapely.box(0, 0, 10, 10), shapely.box(0.1, 0.1, 9.9, 9.9)
    room = KnifeRoom(Outline(edge), Outline(light))
    cut_off = shapely.box(0.05, 0.05, 9.95, 9.95).intersection(
        Polygon([(0.2, 0), (11, -1), (11, 11), (-1, 11), (0, 0.2)])
    )
    ring = resampled(shapely.get_coordinates(cut_off.exterior), 0.05)
    assert not room.keeps_clear(ring, 0.35).all()
    assert room.keeps_clear(mended(ring, room), 0.35).all()
