"""A photo as it comes from a phone: opened with care, turned upright, brought to sRGB."""

import io
import math
import warnings
from dataclasses import dataclass

import numpy as np
from PIL import Image

from decaljobs.craft.arrays import Pixels
from decaljobs.craft.decoding import (
    BOMBS,
    DECODER_ERRORS,
    in_eight_bits,
    orientation_of,
    through_profile,
    upright,
    webp_size,
)

FORMATS = ("JPEG", "PNG", "WEBP", "TIFF")
# Largest photo taken, pixels; a phone gives 12 to 50 million.
MOST_PIXELS = 60_000_000
# Smallest, pixels on the longer side: below it a patch of 12 mm is a few pixels wide.
LEAST_SIDE = 600
# A JPEG is decoded at a half, a quarter ... as long as its longer side keeps this many pixels.
WORKING_SIDE = 1900

BROKEN_PROFILE = "the photo's colour profile is broken; sRGB was taken"

# Brands of the ISO base media file format that phones write: ISO/IEC 23008-12 (HEIF).
HEIF_BRANDS = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif")


class PhotoRefused(ValueError):
    """A photo that gives no answer, with the reason and where things were found on it.

    found: pixel places (x, y) of marks that were seen, for the picture beside the reason.
    """

    def __init__(self, reason: str, found: tuple[tuple[float, float], ...] = ()) -> None:
        super().__init__(reason)
        self.reason = reason
        self.found = found


@dataclass(frozen=True)
class Photo:
    """An upright sRGB photo, (rows, columns, 3) from 0 to 255, with remarks for the maker."""

    pixels: Pixels
    remarks: tuple[str, ...] = ()


def is_heic(data: bytes) -> bool:
    """Whether the bytes begin as a HEIC or AVIF photo does. Source: ISO/IEC 23008-12.

    >>> is_heic(b"    ftypheic"), is_heic(b"RIFF")
    (True, False)
    """
    return data[4:8] == b"ftyp" and data[8:12] in HEIF_BRANDS


def load_photo(data: bytes) -> Photo:
    """An upright sRGB photo, at most some 2000 to 4000 pixels wide, from a file's bytes.

    The EXIF orientation and an embedded colour profile are honoured; a broken profile is
    remarked on and sRGB taken. Raises PhotoRefused for what is no JPEG, PNG, WebP or TIFF, for
    HEIC, for broken files and for a size outside 600 pixels (longer side) to 60 megapixels.

    >>> file = io.BytesIO()
    >>> Image.new("RGB", (640, 480), "navy").save(file, "PNG")
    >>> load_photo(file.getvalue()).pixels.shape
    (480, 640, 3)
    >>> load_photo(b"    ftypheic")
    Traceback (most recent call last):
    decaljobs.craft.photo.load.PhotoRefused: this is a HEIC photo; ...
    """
    if is_heic(data):
        raise PhotoRefused("this is a HEIC photo; convert it to JPEG and send it again")
    image = _open(data)
    _check_size(image.width, image.height)
    profile = image.info.get("icc_profile")
    try:
        image.draft(None, _draft_size(image.width, image.height))
        orientation = orientation_of(image)
        rgb, remarks = _to_srgb(in_eight_bits(image), profile)
    except DECODER_ERRORS as error:
        raise PhotoRefused("the photo's file is broken or cut short") from error
    return Photo(np.asarray(upright(rgb, orientation)), remarks)


def _open(data: bytes) -> Image.Image:
    if math.prod(webp_size(data)) > MOST_PIXELS:
        raise PhotoRefused(_too_large())
    try:
        with warnings.catch_warnings():
            # Pillow warns about very large pictures; the size is checked right after this.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            return Image.open(io.BytesIO(data), formats=FORMATS)
    except BOMBS as error:
        raise PhotoRefused(_too_large()) from error
    except DECODER_ERRORS as error:
        raise PhotoRefused("this is no JPEG, PNG, WebP or TIFF photo") from error


def _too_large(width: int = 0, height: int = 0) -> str:
    size = f"of {width * height / 1e6:.0f} megapixels " if width else ""
    return f"a photo {size}is too large; at most {MOST_PIXELS // 1_000_000} megapixels are taken"


def _check_size(width: int, height: int) -> None:
    if width * height > MOST_PIXELS:
        raise PhotoRefused(_too_large(width, height))
    if max(width, height) < LEAST_SIDE:
        raise PhotoRefused(
            f"the photo is only {width} x {height} pixels; its longer side needs {LEAST_SIDE}"
        )


def _draft_size(width: int, height: int) -> tuple[int, int]:
    share = min(1.0, WORKING_SIDE / max(width, height))
    return max(1, round(width * share)), max(1, round(height * share))


def _to_srgb(image: Image.Image, profile: bytes | None) -> tuple[Image.Image, tuple[str, ...]]:
    if not profile:
        return image.convert("RGB"), ()
    plain = image if image.mode in ("RGB", "CMYK", "L") else image.convert("RGB")
    turned, was_used = through_profile(plain, profile)
    return turned.convert("RGB"), () if was_used else (BROKEN_PROFILE,)
