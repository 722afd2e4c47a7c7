"""Artwork taken in: decoded, made plain sRGB, and kept under names of ours."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from PIL.Image import Image

from decaljobs.craft.art.cutout import cut_out
from decaljobs.craft.pictures import PictureError, thumbnail, to_png
from decaljobs.models import Artwork
from decaljobs.services.artwork.svg_reading import read_svg
from decaljobs.services.files import atomic_with_files, keep_file
from decaljobs.services.refused import BadPicture

PREVIEW_PX = 480


@dataclass(frozen=True)
class ReadyArt:
    """The visible art of a picture as a bare PNG, and a small preview of it."""

    size: tuple[int, int]
    picture: bytes
    preview: bytes


def ready_art(picture: Image | bytes, width_mm: Decimal) -> ReadyArt:
    """A picture made ready to be kept: upright sRGB pixels, or the bytes of an SVG drawing.

    It takes seconds, so call it before a transaction keeps others from writing. width_mm is that
    of the visible art. Raises BadPicture.
    """
    art = _visible_art(picture, float(width_mm))
    return ReadyArt(art.size, to_png(art), to_png(thumbnail(art, PREVIEW_PX)))


def keep_artwork(
    *, name: str, width_mm: Decimal, picture: Image | bytes, moment: datetime
) -> Artwork:
    """Keep a picture as artwork, its visible art alone. Raises BadPicture."""
    art = ready_art(picture, width_mm)
    return keep_ready_art(name=name, width_mm=width_mm, art=art, moment=moment)


@atomic_with_files()
def keep_ready_art(*, name: str, width_mm: Decimal, art: ReadyArt, moment: datetime) -> Artwork:
    """Keep art that was made ready. A caller with a transaction uses `atomic_with_files`."""
    width_px, height_px = art.size
    artwork = Artwork(
        name=name, width_mm=width_mm, made_at=moment, width_px=width_px, height_px=height_px
    )
    stem = uuid.uuid4().hex
    keep_file(artwork.picture, f"{stem}.png", art.picture)
    keep_file(artwork.preview, f"{stem}.png", art.preview)
    artwork.save()
    return artwork


@transaction.atomic
def change_artwork(*, artwork: Artwork, name: str, width_mm: Decimal) -> Artwork:
    """Rename artwork or give it another print size."""
    artwork.name, artwork.width_mm = name, width_mm
    artwork.save(update_fields=["name", "width_mm"])
    return artwork


def _visible_art(picture: Image | bytes, width_mm: float) -> Image:
    try:
        if isinstance(picture, bytes):
            picture = read_svg(picture, width_mm=width_mm)
        return cut_out(picture)
    except PictureError as problem:
        raise BadPicture(str(problem)) from problem
