"""Whether art needs white under it on a paint, and how it would look with and without."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
import shapely
from PIL import Image
from shapely.geometry.base import BaseGeometry

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.art.coverage import Share, coverage
from decaljobs.craft.art.lightareas import OPAQUE
from decaljobs.craft.colour import (
    GOOD_MATCH,
    Colour,
    ciede2000,
    format_hex,
    lab_from_srgb,
    linear_to_srgb,
    srgb_to_linear,
    whole_colour,
)

Verdict = Literal["laminated", "clear alone", "either"]

# CIEDE2000; from here on it is plainly another colour [our choice]
PLAIN_CHANGE = 5.0
# how many of the art's colours are told apart, and the least share of the art one must have
MOST_REGIONS, LEAST_SHARE = 8, 0.02
# CIEDE2000; colours no farther apart are one region
ONE_REGION = 4.0


@dataclass(frozen=True)
class Region:
    """One colour of the art: as drawn, its share of the art, as seen on clear film alone.

    Colours are sRGB, 0 to 255; `share` is 0 to 1; `difference` is the CIEDE2000 between the two.
    """

    drawn: Colour
    share: float
    seen: Colour
    difference: float

    @property
    def hexes(self) -> tuple[str, str]:
        """Both colours, as drawn and as seen, as '#rrggbb'."""
        return format_hex(self.drawn), format_hex(self.seen)


@dataclass(frozen=True)
class WhiteOrNot:
    """The art's colours, the most changed first, and what that says about the build."""

    regions: tuple[Region, ...]
    verdict: Verdict
    reason: str


def on_clear_film(print_rgb: npt.ArrayLike, paint_rgb: npt.ArrayLike) -> Numbers:
    """sRGB 0 to 255 of a print on clear film over a paint; shapes (..., 3) broadcast.

    To a first order the film's light passes the print and is thrown back by the paint, so
    that reflectances multiply in linear light (common practice; trade knowledge, no source).

    >>> on_clear_film([255, 255, 255], [30, 60, 90]).round().tolist()
    [30.0, 60.0, 90.0]
    """
    return linear_to_srgb(np.clip(srgb_to_linear(print_rgb) * srgb_to_linear(paint_rgb), 0, 1))


def white_or_not(image: Image.Image, paint: Colour) -> WhiteOrNot:
    """What the art would lose on clear film alone over a paint (sRGB), region by region.

    Differences are CIEDE2000: up to 2 is hard to see (common practice, no source), over 5 plainly
    another colour (our choice).

    >>> answer = white_or_not(Image.new("RGBA", (8, 8), "white"), paint=(30, 60, 90))
    >>> answer.verdict, answer.regions[0].seen
    ('laminated', (30, 60, 90))
    >>> white_or_not(Image.new("RGBA", (8, 8), "black"), paint=(30, 60, 90)).verdict
    'clear alone'
    """
    found = [_region(colour, share, paint) for colour, share in _main_colours(image)]
    regions = tuple(sorted(found, key=lambda region: -region.difference))
    worst = regions[0].difference if regions else 0.0
    change = f"the most changed colour differs by ΔE {worst:.1f}"
    if worst <= GOOD_MATCH:
        return WhiteOrNot(regions, "clear alone", f"On this paint {change}: hard to see.")
    if worst <= PLAIN_CHANGE:
        return WhiteOrNot(regions, "either", f"On this paint {change}: visible side by side.")
    return WhiteOrNot(regions, "laminated", f"On this paint {change}: plainly another colour.")


def preview_clear_alone(image: Image.Image, paint: Colour) -> Image.Image:
    """RGB picture of the art on clear film alone on a paint (sRGB), of the art's size in pixels.

    >>> preview_clear_alone(Image.new("RGBA", (4, 4), "white"), (30, 60, 90)).getpixel((0, 0))
    (30, 60, 90)
    """
    rgb, cover = _layers(image)
    return _on_paint(on_clear_film(rgb, paint), cover, paint)


def preview_laminated(
    image: Image.Image, paint: Colour, base: BaseGeometry, pixel_mm: float
) -> Image.Image:
    """RGB picture of the art with white beneath it within the base cut (polygons in mm).

    `paint` is sRGB, a pixel measures `pixel_mm`; outside the base the art lies on the paint alone.

    >>> seen = preview_laminated(
    ...     Image.new("RGBA", (4, 4), "white"), (30, 60, 90), shapely.box(0, 0, 0.2, 0.4), 0.1)
    >>> seen.getpixel((0, 0)), seen.getpixel((3, 0))
    ((255, 255, 255), (30, 60, 90))
    """
    rgb, cover = _layers(image)
    height, width = cover.shape
    x, y = np.meshgrid((np.arange(width) + 0.5) * pixel_mm, (np.arange(height) + 0.5) * pixel_mm)
    shapely.prepare(base)
    backed = shapely.contains_xy(base, x, y)[..., None]
    return _on_paint(np.where(backed, rgb, on_clear_film(rgb, paint)), cover, paint)


def _region(drawn: Colour, share: float, paint: Colour) -> Region:
    seen = on_clear_film(drawn, paint)
    difference = float(ciede2000(lab_from_srgb(drawn), lab_from_srgb(seen)))
    return Region(drawn, share, whole_colour(seen), difference)


def _main_colours(image: Image.Image) -> list[tuple[Colour, float]]:
    """The art's colours that take up 2 % or more of it, with their shares."""
    rgb, cover = _layers(image)
    art = rgb[cover >= OPAQUE].astype(np.uint8)
    if not len(art):
        return []
    flat = Image.fromarray(art[None, :, :])
    few = flat.quantize(MOST_REGIONS, Image.Quantize.MEDIANCUT, kmeans=2)
    counts = np.bincount(np.asarray(few).ravel(), minlength=MOST_REGIONS)
    means = [art[np.asarray(few)[0] == i].mean(axis=0) for i in np.flatnonzero(counts)]
    merged = _merged(list(zip(means, counts[counts > 0] / len(art), strict=True)))
    return [
        (whole_colour(colour), float(share)) for colour, share in merged if share >= LEAST_SHARE
    ]


def _merged(colours: list[tuple[Numbers, float]]) -> list[tuple[Numbers, float]]:
    """Colours too near to be told apart melted into the larger one."""
    kept: list[tuple[Numbers, float]] = []
    for colour, share in sorted(colours, key=lambda pair: -pair[1]):
        for index, (other, part) in enumerate(kept):
            if ciede2000(lab_from_srgb(colour), lab_from_srgb(other)) <= ONE_REGION:
                kept[index] = (other, part + share)
                break
        else:
            kept.append((colour, share))
    return kept


def _layers(image: Image.Image) -> tuple[Numbers, Share]:
    return np.asarray(image.convert("RGB"), float), coverage(image)


def _on_paint(rgb: Numbers, cover: Share, paint: Colour) -> Image.Image:
    mixed = rgb * cover[..., None] + np.array(paint) * (1 - cover[..., None])
    return Image.fromarray(np.round(mixed).astype(np.uint8))
