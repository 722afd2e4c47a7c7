"""The pictures that artwork is kept as."""

from __future__ import annotations

from PIL import Image

from decaljobs.craft.pictures import MAX_PIXELS, TOO_LARGE, PictureError
from decaljobs.models import Artwork


def picture_bytes(artwork: Artwork) -> bytes:
    """The picture's file, a PNG."""
    with artwork.picture.open("rb") as opened:
        return opened.read()


def picture_of(artwork: Artwork) -> Image.Image:
    """The picture itself. Raises PictureError for one larger than any that is taken in."""
    with artwork.picture.open("rb") as opened:
        # Our own file, checked when it was taken in.
        picture = Image.open(opened, formats=["PNG"])
        if picture.width * picture.height > MAX_PIXELS:
            raise PictureError(TOO_LARGE)
        picture.load()
    return picture
