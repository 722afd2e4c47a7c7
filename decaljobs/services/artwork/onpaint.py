"""Whether art needs white under it on a paint, and pictures of it with and without."""

from __future__ import annotations

import io
from functools import lru_cache

import shapely
from PIL import Image
from shapely.geometry.base import BaseGeometry

from decaljobs.craft.art.outlines import shape_within
from decaljobs.craft.art.whiteornot import (
    WhiteOrNot,
    preview_clear_alone,
    preview_laminated,
    white_or_not,
)
from decaljobs.craft.colour import parse_hex
from decaljobs.models import Artwork, Decal, Measuring
from decaljobs.services.files import open_media


def verdict_on(decal: Decal) -> WhiteOrNot:
    """What a decal's art would lose on clear film alone on its project's paint."""
    artwork = decal.artwork
    return _verdict(str(artwork.preview.name), decal.project.body_colour)


def seen_on_paint(artwork: Artwork, colour: str, *, laminated: bool) -> bytes:
    """PNG of the art on a paint '#rrggbb', on clear film alone or with white beneath.

    White lies within the base cut where the art is measured, else all under the art.
    """
    image = _picture(str(artwork.preview.name))
    paint = parse_hex(colour)
    if not laminated:
        return _png(preview_clear_alone(image, paint))
    pixel = float(artwork.width_mm) / image.width
    return _png(preview_laminated(image, paint, _base_of(artwork, image, pixel), pixel))


def _base_of(artwork: Artwork, image: Image.Image, pixel_mm: float) -> BaseGeometry:
    measuring: Measuring | None = (
        artwork.measurings.done().filter(width_mm=artwork.width_mm).first()
    )
    rings = measuring.found["base_cut"]["rings"] if measuring and measuring.found else []
    if not rings:
        return shapely.box(0, 0, image.width * pixel_mm, image.height * pixel_mm)
    return shape_within(rings)


@lru_cache(maxsize=256)
def _verdict(preview: str, colour: str) -> WhiteOrNot:
    # The file of a preview never changes: another picture gets another name.
    return white_or_not(_picture(preview), parse_hex(colour))


def _picture(preview: str) -> Image.Image:
    with open_media(preview) as file, Image.open(file) as opened:
        return opened.copy()


def _png(image: Image.Image) -> bytes:
    kept = io.BytesIO()
    image.save(kept, "PNG")
    return kept.getvalue()
