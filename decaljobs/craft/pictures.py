"""Pictures from outside, read safely: nothing but PNG, JPEG and WEBP, in sRGB, stripped bare."""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
from PIL import Image

from decaljobs.craft.art.coverage import PixelBox, box_of, coverage
from decaljobs.craft.decoding import (
    BOMBS,
    DECODER_ERRORS,
    in_eight_bits,
    orientation_of,
    through_profile,
    upright,
    webp_size,
)

FORMATS = ("PNG", "JPEG", "WEBP")
MAX_PIXELS = 40_000_000  # px; A4 at 600 dpi is 34.8 million
MAX_SIDE = 20_000  # px; the long side of A4 at 1200 dpi is 14,032
MAX_SCANS = 200  # a progressive JPEG needs about ten; thousands are an attack on the clock

NOT_A_PICTURE = "This file is not a PNG, JPEG or WEBP picture."
NOT_ARTWORK = "This file is neither a PNG, JPEG or WEBP picture nor an SVG drawing."
EMPTY = "This file is empty."
DAMAGED = "This picture is damaged or cut short; save it again and retry."
BLANK = "This picture is blank: nothing on it can be seen."
TOO_LARGE = (
    f"This picture is too large: at most {MAX_PIXELS // 1_000_000} megapixels"
    f" and {MAX_SIDE} pixels a side."
)
BROKEN_PROFILE = "The picture's colour profile could not be used; sRGB was assumed."
FIRST_FRAME = "The picture is animated; only its first frame is used."


class PictureError(ValueError):
    """The picture cannot be used; the message is one plain sentence for the maker."""


class NotAPicture(PictureError):
    """The file is no picture of a kind that is read."""


@dataclass(frozen=True)
class Picture:
    """An upright sRGB picture (RGB, or RGBA if any of it is transparent) and what to tell."""

    image: Image.Image
    notes: tuple[str, ...] = ()


def read_picture(data: bytes) -> Image.Image:
    """Picture in sRGB pixels from the bytes of a PNG, JPEG or WEBP file.

    RGB, or RGBA where any pixel is not opaque; upright by EXIF; no metadata left. Of an
    animation the first frame. At most 40 megapixels and 20,000 px a side.
    Raises PictureError with a sentence for the maker.

    >>> read_picture(b"%!PS-Adobe-3.0 EPSF-3.0")
    Traceback (most recent call last):
    decaljobs.craft.pictures.NotAPicture: This file is not a PNG, JPEG or WEBP picture.
    """
    return read_with_notes(data).image


def read_with_notes(data: bytes) -> Picture:
    """Picture as read_picture gives it, with sentences on what had to be assumed.

    Raises PictureError as read_picture.

    >>> first, second = (Image.new("RGB", (4, 2), colour) for colour in ("navy", "red"))
    >>> file = io.BytesIO()
    >>> first.save(file, "PNG", save_all=True, append_images=[second])
    >>> read_with_notes(file.getvalue()).notes
    ('The picture is animated; only its first frame is used.',)
    """
    image = _open(data)
    notes = [FIRST_FRAME] if getattr(image, "n_frames", 1) > 1 else []
    try:
        image.load()
        orientation = orientation_of(image)
        image, profile_used = _to_srgb(image)
    except BOMBS as error:
        raise PictureError(TOO_LARGE) from error
    except DECODER_ERRORS as error:
        raise PictureError(DAMAGED) from error
    if not profile_used:
        notes.append(BROKEN_PROFILE)
    return Picture(_bare(upright(image, orientation)), tuple(notes))


def to_png(image: Image.Image) -> bytes:
    """PNG bytes of a picture, with its pixels and nothing else.

    >>> read_picture(to_png(Image.new("RGB", (4, 2), "navy"))).getpixel((0, 0))
    (0, 0, 128)
    """
    out = io.BytesIO()
    _bare(image).save(out, "PNG")
    return out.getvalue()


def thumbnail(image: Image.Image, longest: int) -> Image.Image:
    """Picture whose longer side is at most `longest` px; smaller pictures stay as they are.

    Raises ValueError for less than 1 px.

    >>> thumbnail(Image.new("RGB", (400, 100)), 200).size
    (200, 50)
    """
    if longest < 1:
        raise ValueError(f"longest is {longest}; it must be 1 px or more")
    ratio = longest / max(image.size)
    if ratio >= 1:
        return _bare(image)
    width, height = (max(1, round(side * ratio)) for side in image.size)
    return _bare(image.resize((width, height), Image.Resampling.LANCZOS, reducing_gap=3.0))


def visible_box(
    image: Image.Image, width_mm: float | None = None, height_mm: float | None = None
) -> PixelBox:
    """Extent of the visible art in pixels: left, top, right, bottom, to a part of a pixel.

    Visible is what is not transparent, or, on opaque pictures, what is not the white paper
    that reaches in from the border. Stray specks are left out: under 0.08 mm² where the
    printed width or height of the art is given, else under 1/20,000 of the art.
    Raises PictureError if nothing is visible.

    >>> art = Image.new("RGBA", (40, 30)); art.paste((0, 0, 0, 255), (10, 5, 30, 20))
    >>> visible_box(art)
    PixelBox(left=10.0, top=5.0, right=30.0, bottom=20.0)
    """
    box = box_of(coverage(image), width_mm, height_mm)
    if box is None:
        raise PictureError(BLANK)
    return box


def _open(data: bytes) -> Image.Image:
    """The picture with its header read and its size checked, not yet decoded."""
    if not data:
        raise PictureError(EMPTY)
    # Pillow's WEBP reader makes room for the whole canvas on opening, so look before that.
    _refuse_size(*webp_size(data))
    try:
        image = Image.open(io.BytesIO(data), formats=FORMATS)
    except BOMBS as error:
        raise PictureError(TOO_LARGE) from error
    except DECODER_ERRORS as error:
        raise NotAPicture(NOT_A_PICTURE) from error
    _refuse_size(*image.size)
    if image.format in ("JPEG", "MPO") and data.count(b"\xff\xda") > MAX_SCANS:
        raise PictureError(DAMAGED)
    return image


def _refuse_size(width: int, height: int) -> None:
    if width * height > MAX_PIXELS or max(width, height) > MAX_SIDE:
        raise PictureError(TOO_LARGE)


def _to_srgb(image: Image.Image) -> tuple[Image.Image, bool]:
    """RGB or RGBA in sRGB, and whether the picture's own profile (if any) could be used."""
    profile = image.info.get("icc_profile")
    colours, alpha = _colours_and_alpha(image)
    used = True
    if profile:
        colours, used = through_profile(colours, profile)
    colours = colours.convert("RGB")
    if alpha is None or alpha.getextrema()[0] == 255:
        return colours, used
    colours.putalpha(alpha)
    return colours, used


def _colours_and_alpha(image: Image.Image) -> tuple[Image.Image, Image.Image | None]:
    """L, RGB or CMYK, and the alpha beside it."""
    if image.mode.startswith("I"):
        return in_eight_bits(image), _alpha_of_sixteen_bits(image)
    if image.mode in ("L", "RGB", "CMYK") and "transparency" not in image.info:
        return image, None
    if image.mode == "1" and "transparency" not in image.info:
        return image.convert("L"), None
    if image.mode == "LA":
        return image.getchannel("L"), image.getchannel("A")
    if isinstance(image.info.get("transparency"), tuple):
        # of a 16-bit picture Pillow keeps 8 bits a channel, but the key in 16
        key = image.info["transparency"]
        image.info["transparency"] = tuple(v >> 8 if max(key) > 255 else v for v in key)
    full = image.convert("RGBA")
    return full.convert("RGB"), full.getchannel("A")


def _alpha_of_sixteen_bits(image: Image.Image) -> Image.Image | None:
    """Clear where the picture holds the one grey that its file calls transparent."""
    key = image.info.get("transparency")
    if key is None:
        return None
    return Image.fromarray(np.where(np.asarray(image) == key, 0, 255).astype(np.uint8))


def _bare(image: Image.Image) -> Image.Image:
    """A copy that carries pixels alone: no EXIF, no profile, no text."""
    copy = image.copy()
    copy.info = {}
    return copy
