"""The outline band widened or given another colour, edges kept smooth."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from PIL import Image
from scipy import ndimage

from decaljobs.craft.arrays import Pixels
from decaljobs.craft.art.coverage import (
    SPECK_MM2,
    Share,
    coverage,
    grown,
    near_edge,
    reaching,
    without_specks,
)
from decaljobs.craft.art.lightareas import OPAQUE, light_areas, nearest_opaque
from decaljobs.craft.art.outlines import Outline, outlines
from decaljobs.craft.colour import Colour

# mm; a wider band is taken for a slip of the pen
LEAST_WIDENING, MOST_WIDENING = 0.01, 20.0


@dataclass(frozen=True)
class Reworked:
    """A new version of the artwork, with what its visible art now measures in mm."""

    image: Image.Image
    width_mm: float
    height_mm: float


def widen_band(
    image: Image.Image,
    pixel_mm: float,
    by_mm: float,
    size_mm: tuple[float, float],
    colour: Colour,
) -> Reworked:
    """The art with its outline band `by_mm` (0.01 to 20) wider all round, in sRGB `colour`.

    The light parts keep their size, so the art of `size_mm` grows by twice as much. The
    result is on white paper or transparent as the picture was. Raises ValueError for a width
    out of range.

    >>> tail = Image.new("RGBA", (30, 20), "navy")
    >>> wider = widen_band(tail, 0.1, by_mm=0.5, size_mm=(3.0, 2.0), colour=(90, 20, 20))
    >>> wider.width_mm, wider.height_mm, wider.image.getpixel((wider.image.width // 2, 5))
    (4.0, 3.0, (90, 20, 20, 255))
    """
    if not LEAST_WIDENING <= by_mm <= MOST_WIDENING:
        raise ValueError(f"the band is widened by {LEAST_WIDENING:g} to {MOST_WIDENING:g} mm")
    edge = math.ceil(by_mm / pixel_mm) + 3
    cover = np.pad(coverage(image), edge)
    cover = without_specks(cover, SPECK_MM2 / pixel_mm**2)
    rgb = _pure(np.pad(_pixels(image), ((edge, edge), (edge, edge), (0, 0))), cover)
    wide = np.maximum(_widened(cover, pixel_mm, by_mm), cover)
    share = np.divide(cover, wide, out=np.zeros_like(cover), where=wide > 0)[..., None]
    mixed = rgb * share + np.array(colour, np.float32) * (1 - share)
    return Reworked(_as_was(image, mixed, wide), size_mm[0] + 2 * by_mm, size_mm[1] + 2 * by_mm)


def recolour_band(
    image: Image.Image,
    pixel_mm: float,
    colour: Colour,
    band_colour: Colour | None = None,
    *,
    details_too: bool = False,
) -> Image.Image:
    """The art with its outline band in another sRGB colour, its edges as smooth as before.

    Details of the same colour farther in stay as they are unless `details_too` is set. The
    band's colour is found unless it is given; a pixel measures `pixel_mm`. Raises ValueError if
    there is no band.

    >>> tail = Image.new("RGB", (30, 20), "navy")
    >>> tail.paste("white", (8, 6, 22, 14))
    >>> green = recolour_band(tail, 0.1, (20, 60, 30))
    >>> green.getpixel((2, 2)), green.getpixel((15, 10))
    ((20, 60, 30), (255, 255, 255))
    """
    cover = coverage(image)
    rgb = _pure(_pixels(image), cover)
    areas = light_areas(_pixels(image), cover, pixel_mm, band_colour)
    if areas.band_colour is None:
        raise ValueError("this art has no outline band; give its colour or widen it first")
    dark = np.clip(1 - areas.share, 0, 1)
    if not details_too:
        art = cover >= 0.5
        dark[~grown(reaching((dark >= 0.5) & art, near_edge(art, 1)), 2)] = 0
    change = np.array(colour, np.float32) - np.array(areas.band_colour, np.float32)
    return _as_was(image, np.clip(rgb + dark[..., None] * change, 0, 255), cover)


def _pixels(image: Image.Image) -> Pixels:
    return np.asarray(image.convert("RGB"))


def _pure(rgb: Pixels, cover: Share) -> Share:
    """The colours with those of edge pixels, tinged by the paper, taken from the art beside."""
    opaque = cover >= OPAQUE
    if not opaque.any():
        return rgb.astype(np.float32)
    rows, columns = nearest_opaque(opaque)
    return rgb[rows, columns].astype(np.float32)


def _widened(cover: Share, pixel_mm: float, by_mm: float) -> Share:
    """Coverage of the art grown by `by_mm`, exact to a part of a pixel along its edge."""
    away = ndimage.distance_transform_edt(cover < 0.5) * pixel_mm
    wide = (away < by_mm).astype(np.float32)
    rows, columns = np.nonzero(np.abs(away - by_mm) < 3 * pixel_mm)
    points = np.column_stack([columns + 0.5, rows + 0.5]) * pixel_mm
    distance = Outline(outlines(cover, pixel_mm, SPECK_MM2)).signed(points)
    wide[rows, columns] = np.clip((by_mm - distance) / pixel_mm + 0.5, 0, 1)
    return wide


def _as_was(image: Image.Image, rgb: Share, cover: Share) -> Image.Image:
    """Transparent if the picture was, else on white paper."""
    if image.mode == "RGBA":
        pixels = np.dstack([rgb, cover * 255])
    else:
        pixels = rgb * cover[..., None] + 255 * (1 - cover[..., None])
    return Image.fromarray(np.round(pixels).astype(np.uint8))
