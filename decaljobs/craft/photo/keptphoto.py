"""A photo made ready to be kept: upright, in sRGB, of a sensible size, without metadata."""

from __future__ import annotations

import io
from dataclasses import dataclass

from PIL import Image

from decaljobs.craft.photo.load import is_heic
from decaljobs.craft.pictures import PictureError, read_picture, thumbnail

#: The longer side that is kept, px: fills a large screen, prints 17 cm wide at 300 dpi.
LONGEST_SIDE = 2000
#: The longer side of the small version in lists, px.
SMALL_SIDE = 480
#: JPEG quality: no block is seen at arm's length (common practice, no source).
QUALITY, SMALL_QUALITY = 85, 80
#: What stands behind a see-through part of a picture.
PAPER = "#ffffff"

HEIC = "This is a HEIC photo: set the camera to JPEG, or save it as JPEG, and send it again."


@dataclass(frozen=True)
class ReadyPhoto:
    """A photo as JPEG, its small version as JPEG, and its size in px."""

    picture: bytes
    small: bytes
    width_px: int
    height_px: int


def ready_photo(data: bytes) -> ReadyPhoto:
    """A photo of at most 2000 px a side, with a small one of 480 px, from a file's bytes.

    Takes PNG, JPEG and WEBP as `read_picture` does: at most 40 megapixels, looked at before
    decoding. Turned upright by EXIF; nothing of the file is kept but its pixels.
    Raises PictureError with a sentence for the maker.

    >>> ready_photo(b"    ftypheic")
    Traceback (most recent call last):
    decaljobs.craft.pictures.PictureError: This is a HEIC photo: set the camera to JPEG, or save \
it as JPEG, and send it again.
    """
    if is_heic(data):
        raise PictureError(HEIC)
    picture = _opaque(thumbnail(read_picture(data), LONGEST_SIDE))
    small = thumbnail(picture, SMALL_SIDE)
    return ReadyPhoto(
        picture=_jpeg(picture, QUALITY),
        small=_jpeg(small, SMALL_QUALITY),
        width_px=picture.width,
        height_px=picture.height,
    )


def _opaque(image: Image.Image) -> Image.Image:
    if image.mode != "RGBA":
        return image
    behind = Image.new("RGB", image.size, PAPER)
    behind.paste(image, mask=image.getchannel("A"))
    return behind


def _jpeg(image: Image.Image, quality: int) -> bytes:
    # A bare picture: Pillow writes no more than its info holds, and that is empty.
    out = io.BytesIO()
    image.save(out, "JPEG", quality=quality, optimize=True)
    return out.getvalue()
