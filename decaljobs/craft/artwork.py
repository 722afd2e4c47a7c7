"""Artwork measured: its outline band, its cut lines and the chance of a clean edge."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from PIL import Image
from shapely.geometry import MultiPolygon
from shapely.geometry.base import BaseGeometry

from decaljobs.craft.art.band import Band, EdgeWidths, edge_widths, summed_up
from decaljobs.craft.art.coverage import (
    SPECK_MM2,
    PixelBox,
    Share,
    box_of,
    coverage,
    without_specks,
)
from decaljobs.craft.art.details import smallest_detail
from decaljobs.craft.art.lightareas import light_areas
from decaljobs.craft.art.outlines import outlines
from decaljobs.craft.colour import Colour
from decaljobs.craft.cutlines import (
    CLEAR_MARGIN,
    CutLine,
    Segment,
    clear_cut,
    relief_cuts,
    snipped_rectangle,
)
from decaljobs.craft.knife.basecut import BaseCut, base_cut, islands
from decaljobs.craft.knife.cutruns import Piece
from decaljobs.craft.knife.hand import Hand
from decaljobs.craft.pictures import BLANK, PictureError
from decaljobs.craft.tolerance import band_for, clean_chance, widening_for
from decaljobs.craft.units import INCH, LEAST_ART_MM, MOST_ART_MM

# dots per inch that are taken for meant
LEAST_DPI, MOST_DPI = 10.0, 20_000.0
# px; larger pictures are reduced where their pixels are finer than measuring needs
MANY_PIXELS = 1_500_000
MOST_PIXELS = 12_000_000
# mm; half of this is fine enough for hundredths of a millimetre
FINE_PIXEL = 0.09
# spreads; a gap's inset keeps the knife inside the edge 19 times in 20
INSET_SPREADS = 1.645

# pieces; a full sheet of lettering has some hundreds, noise has no end of them
MOST_PIECES = 3000
# holes in one piece of the art; each is cut round, and no knife follows hundreds
MOST_HOLES = 400

# told the share of the measuring that is done, 0 to 1, again and again; raises to end it
Told = Callable[[float], None]
# shares done once the shapes are found, the base is cut, and its chance is known
SHAPED, CUT, WEIGHED = 0.3, 0.85, 0.9

TOO_MANY_PIECES = (
    f"This picture falls into more than {MOST_PIECES} pieces;"
    " it looks like a photograph or noise, not like artwork to be cut."
)
TOO_MANY_HOLES = (
    f"A piece of this picture has more than {MOST_HOLES} holes;"
    " it looks like a photograph or noise, not like artwork to be cut."
)
ONE_SIZE = "give one of the width, the height and the dpi, no more"


@dataclass(frozen=True, eq=False)
class Measurement:
    """What measuring found: lengths in mm, origin at the picture's top left corner, y down.

    `width_mm` and `height_mm` are those of the visible art, `dpi` its dots per inch at that size;
    `rectangle` is left, top, right, bottom; `clean_chance` is 0 to 1. Without light areas there is
    no base cut, no band and no chance: these are None.
    """

    width_mm: float
    height_mm: float
    dpi: float
    pixel_mm: float
    islands: int
    holes: int
    band: Band | None
    band_colour: Colour | None
    base: BaseCut | None
    clear: CutLine
    rectangle: tuple[float, float, float, float]
    relief_cuts: tuple[Segment, ...]
    smallest_light_detail_mm: float | None
    clean_chance: float | None
    band_for_95_mm: float | None
    widen_by_mm: float | None
    silhouette: MultiPolygon = field(repr=False)
    light: BaseGeometry = field(repr=False)


def measure(
    image: Image.Image,
    *,
    width_mm: float | None = None,
    height_mm: float | None = None,
    dpi: float | None = None,
    band_colour: Colour | None = None,
    clear_margin_mm: float = CLEAR_MARGIN,
    hand: Hand | None = None,
    told: Told = lambda share: None,
) -> Measurement:
    """Measurement in mm of a picture in sRGB (RGB on white paper, or RGBA).

    Exactly one of `width_mm` and `height_mm` (0.5 to 2000, of the visible art) and `dpi` (10 to
    20,000) sets the size. The band's colour is found along the edge unless given. `told` hears
    what share is done, and may raise to end the measuring. Raises ValueError for sizes and
    margins out of range, PictureError for a blank picture.

    >>> page = Image.new("RGB", (50, 30), "white")
    >>> page.paste("navy", (5, 5, 45, 25))
    >>> page.paste("white", (13, 11, 37, 19))
    >>> found = measure(page, width_mm=8)  # 40 px wide: 0.2 mm to the pixel
    >>> found.height_mm, round(found.band.min_mm, 2), round(found.base.line.clearance_mm, 2)
    (4.0, 1.2, 0.6)
    """
    hand = hand or Hand()
    _refuse_sizes(width_mm, height_mm, dpi)
    # a tenth of the pixels that the eye cannot tell apart anyway are enough to measure by
    image, factor = _reduced(image, width_mm, height_mm, dpi)
    cover = coverage(image)
    box = box_of(cover, width_mm, height_mm)
    if box is None:
        raise PictureError(BLANK)
    pixel = _pixel_mm(box, width_mm, height_mm, dpi and dpi / factor)
    told(SHAPED / 3)
    shapes = _shapes(image, cover, pixel, band_colour)
    told(SHAPED)
    return _measured(shapes, box, pixel, factor, clear_margin_mm, hand, told)


@dataclass(frozen=True, eq=False)
class _Shapes:
    silhouette: MultiPolygon
    light: BaseGeometry
    widths: list[EdgeWidths]
    band_colour: Colour | None


def _refuse_sizes(width: float | None, height: float | None, dpi: float | None) -> None:
    if sum(size is not None for size in (width, height, dpi)) != 1:
        raise ValueError(ONE_SIZE)
    for size in (width, height):
        if size is not None and not LEAST_ART_MM <= size <= MOST_ART_MM:
            raise ValueError(f"a size lies from {LEAST_ART_MM:g} to {MOST_ART_MM:g} mm")
    if dpi is not None and not LEAST_DPI <= dpi <= MOST_DPI:
        raise ValueError(f"the dpi lie from {LEAST_DPI:g} to {MOST_DPI:g}")


def _reduced(
    image: Image.Image, width: float | None, height: float | None, dpi: float | None
) -> tuple[Image.Image, int]:
    """The picture with no more pixels than measuring needs, and how many became one."""
    count = image.width * image.height
    if count <= MANY_PIXELS:
        return image, 1
    # the empty border is not known yet, so this may call a pixel finer than it is
    pixel = INCH / dpi if dpi else (width or 0) / image.width or (height or 0) / image.height
    factor = max(1, int(FINE_PIXEL / pixel), math.ceil(math.sqrt(count / MOST_PIXELS)))
    return (image.reduce(factor), factor) if factor > 1 else (image, 1)


def _pixel_mm(box: PixelBox, width: float | None, height: float | None, dpi: float | None) -> float:
    if dpi:
        return INCH / dpi
    return width / box.width if width else (height or 0) / box.height


def _shapes(image: Image.Image, cover: Share, pixel: float, band_colour: Colour | None) -> _Shapes:
    cover = without_specks(cover, SPECK_MM2 / pixel**2)
    areas = light_areas(np.asarray(image.convert("RGB")), cover, pixel, band_colour)
    silhouette = outlines(cover, pixel, SPECK_MM2)
    if silhouette.is_empty:
        raise PictureError(BLANK)
    light = outlines(areas.share, pixel, SPECK_MM2)
    if len(silhouette.geoms) + len(light.geoms) > MOST_PIECES:
        raise PictureError(TOO_MANY_PIECES)
    if max(len(piece.interiors) for piece in silhouette.geoms) > MOST_HOLES:
        raise PictureError(TOO_MANY_HOLES)
    widths = [] if light.is_empty else edge_widths(silhouette, light, pixel)
    return _Shapes(silhouette, light, widths, areas.band_colour)


def _measured(
    shapes: _Shapes,
    box: PixelBox,
    pixel: float,
    factor: int,
    margin: float,
    hand: Hand,
    told: Told,
) -> Measurement:
    light = shapely.intersection(shapes.light, shapes.silhouette)
    clear = clear_cut(shapes.silhouette, margin)
    rectangle = snipped_rectangle(clear)
    band = summed_up(shapes.widths) if shapes.widths else None
    base = _base(shapes, light, band, hand, told) if band else None
    told(CUT)
    chances = _chances(base.runs, hand, told) if base else (None, None, None)
    return Measurement(
        width_mm=box.width * pixel,
        height_mm=box.height * pixel,
        dpi=INCH * factor / pixel,
        pixel_mm=pixel / factor,
        islands=len(shapes.silhouette.geoms),
        holes=sum(len(piece.interiors) for piece in shapes.silhouette.geoms),
        band=band,
        band_colour=shapes.band_colour,
        base=base,
        clear=clear,
        rectangle=rectangle,
        relief_cuts=relief_cuts(base.line if base else clear, rectangle),
        smallest_light_detail_mm=smallest_detail(light),
        clean_chance=chances[0],
        band_for_95_mm=chances[1],
        widen_by_mm=chances[2],
        silhouette=shapes.silhouette,
        light=light,
    )


def _base(
    shapes: _Shapes, light: BaseGeometry, band: Band, hand: Hand, told: Told
) -> BaseCut | None:
    inset = INSET_SPREADS * math.hypot(hand.knife_mm, hand.lay_down_mm)
    found = islands(shapes.silhouette, light, shapes.widths)
    return base_cut(found, band.p05_mm, inset, lambda share: told(SHAPED + share * (CUT - SHAPED)))


def _chances(pieces: Sequence[Piece], hand: Hand, told: Told) -> tuple[float, float, float]:
    """The chance of a clean edge, the even band that makes it 95 %, and the widening that does."""
    chance = clean_chance(pieces, hand)
    told(WEIGHED)
    even = band_for(pieces, hand)
    told((WEIGHED + 1) / 2)
    return chance, even, widening_for(pieces, hand)
