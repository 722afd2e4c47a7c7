"""Art on its own paint, at actual size. Lengths in mm."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

from PIL import Image, UnidentifiedImageError
from reportlab.lib.utils import ImageReader

from decaljobs.craft.paper.jobcard import Art, Fit
from decaljobs.craft.units import INCH

#: Dots to the inch that a card's art is reduced to: the sharpness of a home printer's photo.
CARD_DPI = 300
#: Pictures larger than this are not opened, pixels.
MOST_PIXELS = 40_000_000
FORMATS = ("PNG", "JPEG", "WEBP")


class ArtShelf:
    """Pictures made ready for one paper, each reduced once however often it is shown."""

    def __init__(self) -> None:
        self._ready: dict[tuple[object, Fit], ImageReader | None] = {}
        self._held: list[Art] = []

    def ready(self, art: Art, fit: Fit) -> ImageReader | None:
        """The picture as it lies on the paper, or None where it cannot be read."""
        key = (art if isinstance(art, (bytes, Path)) else id(art), fit)
        if key not in self._ready:
            self._held.append(art)  # an id is only a name while its picture is alive
            self._ready[key] = _reduced(art, fit)
        return self._ready[key]


def _reduced(art: Art, fit: Fit) -> ImageReader | None:
    try:
        with _opened(art) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                return None
            return ImageReader(_at_print_size(picture, fit))
    except (OSError, UnidentifiedImageError, ValueError, SyntaxError):
        return None


def _opened(art: Art) -> Image.Image:
    if isinstance(art, Image.Image):
        return art.copy()
    return Image.open(BytesIO(art) if isinstance(art, bytes) else art, formats=FORMATS)


def _at_print_size(picture: Image.Image, fit: Fit) -> Image.Image:
    clear = "A" in picture.getbands() or "transparency" in picture.info
    flat = picture.convert("RGBA" if clear else "RGB")
    if fit.turned:
        flat = flat.transpose(Image.Transpose.ROTATE_90)
    wide, high = (_dots(fit.width_mm), _dots(fit.height_mm))
    if flat.width <= wide and flat.height <= high:
        return flat
    return flat.resize((min(wide, flat.width), min(high, flat.height)), Image.Resampling.BOX)


def _dots(mm: float) -> int:
    return max(1, round(mm / INCH * CARD_DPI))
