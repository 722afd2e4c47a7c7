"""What Pillow makes of a picture file's bytes, with the care that files from outside want."""

from __future__ import annotations

import io
import struct
import zlib

import numpy as np
from PIL import ExifTags, Image, ImageCms

MAX_PROFILE = 4_000_000  # bytes; printers' CMYK profiles are 0.5 to 2 MB

# EXIF 2.32, tag 0x0112: what brings each stored orientation upright. Not Pillow's exif_transpose,
# which writes all of the EXIF anew and fails where any of it is malformed.
UPRIGHT = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
# Everything that Pillow's decoders raise on malformed bytes, and warn of where warnings raise.
DECODER_ERRORS = (
    OSError,
    SyntaxError,
    ValueError,
    ArithmeticError,
    LookupError,
    TypeError,
    AttributeError,
    EOFError,
    RuntimeError,
    MemoryError,
    Warning,
    struct.error,
    zlib.error,
)
BOMBS = (Image.DecompressionBombError, Image.DecompressionBombWarning)


def webp_size(data: bytes) -> tuple[int, int]:
    """Canvas in px as a WEBP header tells it; (0, 0) for what is no WEBP.

    Pillow's reader makes room for the whole canvas on opening, so look before that. Source:
    RFC 9649, section 2.

    >>> file = io.BytesIO()
    >>> Image.new("RGB", (40, 30)).save(file, "WEBP")
    >>> webp_size(file.getvalue()), webp_size(b"%!PS-Adobe-3.0")
    ((40, 30), (0, 0))
    """
    if data[:4] != b"RIFF" or data[8:12] != b"WEBP" or len(data) < 30:
        return 0, 0
    kind = data[12:16]
    if kind == b"VP8X":
        width, height = (1 + int.from_bytes(data[at : at + 3], "little") for at in (24, 27))
        return width, height
    if kind == b"VP8L":
        bits = int.from_bytes(data[21:25], "little")
        return 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)
    width, height = (int.from_bytes(data[at : at + 2], "little") & 0x3FFF for at in (26, 28))
    return width, height


def orientation_of(image: Image.Image) -> int:
    """How a picture is stored by its EXIF, 1 to 8 (no unit); 1, upright, where that is unknown.

    >>> orientation_of(Image.new("RGB", (4, 2)))
    1
    """
    try:
        return int(image.getexif().get(ExifTags.Base.Orientation, 1))
    except DECODER_ERRORS:
        return 1


def upright(image: Image.Image, orientation: int) -> Image.Image:
    """A picture turned upright from an EXIF orientation; as it is for 1 and for any unknown.

    >>> upright(Image.new("RGB", (4, 2)), 6).size, upright(Image.new("RGB", (4, 2)), 9).size
    ((2, 4), (4, 2))
    """
    return image.transpose(UPRIGHT[orientation]) if orientation in UPRIGHT else image


def in_eight_bits(image: Image.Image) -> Image.Image:
    """A grey picture of 16 or 32 bits in 8; others as they are.

    Pillow itself takes every grey above 255 for white.

    >>> in_eight_bits(Image.new("I;16", (1, 1), 32896)).getpixel((0, 0))
    128
    """
    if not image.mode.startswith("I"):
        return image
    values = np.asarray(image).astype(np.int64).clip(0, 65535)
    return Image.fromarray(((values + 128) // 257).astype(np.uint8))


def through_profile(image: Image.Image, profile: bytes) -> tuple[Image.Image, bool]:
    """A picture (L, RGB or CMYK) brought by its ICC profile to sRGB, and whether that went.

    Relative colorimetric, black mapped to black. A broken profile or one of more than 4 MB leaves
    the picture as it is.

    >>> through_profile(Image.new("RGB", (4, 2), "navy"), b"no profile")[1]
    False
    """
    if len(profile) > MAX_PROFILE:
        return image, False
    try:
        converted = ImageCms.profileToProfile(
            image,
            ImageCms.ImageCmsProfile(io.BytesIO(profile)),
            ImageCms.createProfile("sRGB"),
            renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
            outputMode="RGB",
            flags=ImageCms.Flags.BLACKPOINTCOMPENSATION,
        )
    except (ImageCms.PyCMSError, *DECODER_ERRORS):
        return image, False
    return (converted, True) if converted is not None else (image, False)
