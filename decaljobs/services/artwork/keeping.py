"""Artwork taken in: decoded, made plain sRGB, and kept under names of ours."""

from __future__ import annotations

import uuid
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from PIL.Image import Image

from decaljobs.craft.cutout import cut_out
from decaljobs.craft.pictures import PictureError, thumbnail, to_png
from decaljobs.models import Artwork
from decaljobs.services.artwork.svg_reading import read_svg
from decaljobs.services.files import atomic_with_files, keep_file
from decaljobs.services.refused import BadPicture

PREVIEW_PX = 480


@atomic_with_files()
def keep_artwork(
    *, name: str, width_mm: Decimal, picture: Image | bytes, moment: datetime
) -> Artwork:
    """Keep a picture as artwork: its visible art alone, as a bare PNG, a small preview beside it.

    picture: upright sRGB pixels, or the bytes of an SVG drawing. width_mm is that of the visible
    art. Raises BadPicture. A caller with a transaction of its own uses `atomic_with_files`.
    """
    artwork = Artwork(name=name, width_mm=width_mm, made_at=moment)
    _keep_picture(artwork, _visible_art(picture, float(width_mm)))
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


def _keep_picture(artwork: Artwork, picture: Image) -> None:
    stem = uuid.uuid4().hex
    artwork.width_px, artwork.height_px = picture.size
    keep_file(artwork.picture, f"{stem}.png", to_png(picture))
    keep_file(artwork.preview, f"{stem}.png", to_png(thumbnail(picture, PREVIEW_PX)))
