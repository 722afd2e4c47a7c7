"""The same drawing measures the same, however it was saved: within 0.02 mm, also at 300 dpi."""

import io
from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
from PIL import Image

from decaljobs.craft.artwork import measure
from decaljobs.craft.pictures import read_picture
from tests.craft.artshapes import box, disc, draw, on_paper, polygon, star_in_star
from tests.craft.roughart import least_share

SHAPES = {
    # silhouette, light, width, height, narrowest, mostly
    "discs": (disc(12.03, 12.01, 10), disc(12.33, 12.01, 9), 20, 20, 0.7, 1.0045),
    "rectangles": (box(12, 12, 20, 14, 3), box(12, 12, 18.4, 12.4, 2.2), 20, 14, 0.8, 0.8),
}
COLOURS = {
    "black and white": ((0, 0, 0), (255, 255, 255)),
    "blue and yellow": ((20, 40, 110), (240, 210, 40)),
}


def saved(image: Image.Image, kind: str, **options: object) -> Image.Image:
    out = io.BytesIO()
    image.save(out, kind, **options)
    return read_picture(out.getvalue())


def jpeg(quality: int, **options: object) -> Callable[[Image.Image], Image.Image]:
    return lambda image: saved(on_paper(image), "JPEG", quality=quality, **options)


def premultiplied(image: Image.Image) -> Image.Image:
    """Edge pixels darkened as if black shone through."""
    pixels = np.asarray(image).astype(float)
    return Image.fromarray(
        np.dstack([pixels[..., :3] * pixels[..., 3:] / 255, pixels[..., 3]])
        .round()
        .astype(np.uint8)
    )


def white_matted(image: Image.Image) -> Image.Image:
    """Edge pixels lightened by the white paper they were cut from."""
    pixels = np.asarray(image).astype(float)
    share = pixels[..., 3:] / 255
    mixed = pixels[..., :3] * share + 255 * (1 - share)
    return Image.fromarray(np.dstack([mixed, pixels[..., 3]]).round().astype(np.uint8))


def turned_by_exif(image: Image.Image) -> Image.Image:
    exif = Image.Exif()
    exif[0x0112] = 6
    return saved(image.transpose(Image.Transpose.ROTATE_90), "PNG", exif=exif)


ENCODINGS: dict[str, Callable[[Image.Image], Image.Image]] = {
    "png": lambda image: saved(image, "PNG"),
    "on paper": on_paper,
    "palette": lambda image: saved(on_paper(image).quantize(64), "PNG"),
    "cmyk jpeg": lambda image: saved(on_paper(image).convert("CMYK"), "JPEG", quality=90),
    "jpeg 60": jpeg(60),
    "jpeg 75": jpeg(75),
    "jpeg 85": jpeg(85),
    "jpeg 95": jpeg(95),
    "jpeg 60, full chroma": jpeg(60, subsampling=0),
    "webp": lambda image: saved(image, "WEBP", quality=80),
    "premultiplied fringe": premultiplied,
    "white fringe": white_matted,
    "turned by EXIF": turned_by_exif,
}


@cache
def drawn(shape: str, colours: str, dpi: int) -> Image.Image:
    return draw(*SHAPES[shape][:2], (24, 24), dpi, *COLOURS[colours], fine=4 if dpi > 600 else 8)


DRAWINGS = [
    *((300, shape, colours) for shape in SHAPES for colours in COLOURS),
    (600, "discs", "blue and yellow"),
    pytest.param(1200, "rectangles", "blue and yellow", marks=pytest.mark.slow),
]


@pytest.mark.parametrize("encoding", ENCODINGS)
@pytest.mark.parametrize(("dpi", "shape", "colours"), DRAWINGS)
def test_it_measures_the_same_from_every_encoding(dpi, shape, colours, encoding):
    width, height, narrowest, mostly = SHAPES[shape][2:]
    found = measure(ENCODINGS[encoding](drawn(shape, colours, dpi)), width_mm=width)
    assert (found.islands, found.holes) == (1, 0)
    assert found.height_mm == pytest.approx(height, abs=0.01)
    assert found.band.missing_mm == 0
    assert found.band.min_mm == pytest.approx(narrowest, abs=0.02)
    assert found.band.median_mm == pytest.approx(mostly, abs=0.01)
    assert np.abs(np.subtract(found.band_colour, COLOURS[colours][0])).max() <= 12
    assert found.base.line.clearance_mm == pytest.approx(narrowest / 2, abs=0.02)


@cache
def drawn_star() -> Image.Image:
    outer, inner = star_in_star(12, 12, 0.8)
    return draw(polygon(outer), polygon(inner), (24, 24), 300, *COLOURS["blue and yellow"])


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_it_measures_a_star_the_same_from_every_encoding(encoding):
    """A band of 0.8 mm all round, with sharp corners that ring in a coarse JPEG."""
    found = measure(ENCODINGS[encoding](drawn_star()), dpi=300)
    assert found.band.min_mm == pytest.approx(0.8, abs=0.02)
    assert found.band.p05_mm == pytest.approx(0.8, abs=0.02)
    assert found.band.median_mm == pytest.approx(0.8, abs=0.01)
    assert found.band.missing_mm == 0
    assert least_share(found) >= 0.35


@cache
def drawn_touching() -> Image.Image:
    silhouette, light = disc(12, 12, 10), disc(14.5, 12, 8)
    return draw(silhouette, light, (24, 24), 300, *COLOURS["blue and yellow"])


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_it_keeps_the_cut_inside_where_light_touches_the_edge(encoding):
    """The light reaches the edge within acos(0.845) of the way to the right: 11.28 mm of it.

    A band that thins out this slowly ends where a coarse JPEG's noise says, an eighth off at most.
    """
    found = measure(ENCODINGS[encoding](drawn_touching()), dpi=300)
    assert found.band.missing_mm == pytest.approx(11.28, abs=11.28 / 8)
    assert found.base.short_at is None
    assert least_share(found) >= 0.35
    assert found.base.inset_mm == pytest.approx(0.35, abs=0.01)


def test_it_measures_a_picture_without_smooth_edges():
    """Every pixel wholly in or out: the outline is known to half a pixel, 0.02 mm, only."""
    image = np.asarray(drawn("discs", "black and white", 600)).copy()
    image[..., 3] = np.where(image[..., 3] >= 128, 255, 0)
    image[..., :3] = np.where(image[..., :3] >= 128, 255, 0)
    found = measure(Image.fromarray(image), dpi=600)
    assert found.band.min_mm == pytest.approx(0.7, abs=0.03)
    assert found.band.median_mm == pytest.approx(1.0045, abs=0.02)
    points = np.concatenate(found.base.line.rings)
    total = np.hypot(points[:, 0] - 12.03, points[:, 1] - 12.01)
    total += np.hypot(points[:, 0] - 12.33, points[:, 1] - 12.01)
    assert np.abs(total - 19).max() / 2 < 0.02
