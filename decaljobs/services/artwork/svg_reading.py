"""SVG artwork drawn as a picture at print resolution, in a process that is kept on a short lead."""

from __future__ import annotations

import math
import os
import subprocess  # noqa: S404 - the drawing is checked first and the worker is ours
import sys
from pathlib import Path
from xml.etree.ElementTree import Element  # noqa: S405 - only for its type

from PIL.Image import Image

from decaljobs.craft.pictures import (
    MAX_PIXELS,
    MAX_SIDE,
    PictureError,
    read_picture,
    visible_box,
)
from decaljobs.craft.units import INCH
from decaljobs.services.artwork.svg_checking import at_size, checked, natural_size

# dots per inch at print size
FULL_DPI = 1200
# px; the longer side of the first drawing, by which the visible part is found
FIRST_LOOK = 1500
TIMEOUT_SECONDS = 30
WORKER = Path(__file__).with_name("svg_worker.py")

# px to the inch: CSS Values and Units Level 4
CSS_DPI = 96
TOO_MANY_PIXELS = "At this resolution the drawing has too many pixels; give a lower one."
NOT_DRAWN = "This SVG could not be drawn; it may be too complicated."


def read_svg(
    data: bytes,
    *,
    width_mm: float | None = None,
    height_mm: float | None = None,
    dpi: float | None = None,
) -> Image:
    """The drawing as a picture: its visible art at 1200 dpi for the size, or all of it at `dpi`.

    Give one of the three. Less where that would be more than 40 megapixels. Raises PictureError
    with a sentence for the maker, and for a drawing that takes too long or too much memory.
    """
    root = checked(data)
    width, height = natural_size(root)
    most = min(math.sqrt(MAX_PIXELS / (width * height)), MAX_SIDE / max(width, height))
    if dpi is not None:
        scale = dpi / CSS_DPI
        if scale > most:
            raise PictureError(TOO_MANY_PIXELS)
    else:
        scale = _full_scale(root, width_mm, height_mm)
    # a hair less, so that rounding to whole pixels stays below the limit
    return _drawn(root, min(scale, 0.999 * most))


def _full_scale(root: Element, width_mm: float | None, height_mm: float | None) -> float:
    """Pixels to the CSS pixel at which the visible art has the full resolution."""
    look = FIRST_LOOK / max(natural_size(root))
    box = visible_box(_drawn(root, look), width_mm, height_mm)
    wide = width_mm / box.width if width_mm else (height_mm or 0) / box.height
    return look * wide * FULL_DPI / INCH


def _drawn(root: Element, scale: float) -> Image:
    width, height = (max(1, round(side * scale)) for side in natural_size(root))
    return read_picture(_png(at_size(root, width, height)))


def _png(drawing: str) -> bytes:
    command = [sys.executable, "-I", str(WORKER)]
    # Windows cannot start a program without it; nothing else is handed on
    environment = {key: os.environ[key] for key in ("SYSTEMROOT",) if key in os.environ}
    try:
        done = subprocess.run(  # noqa: S603 - a fixed command, the drawing comes by its input
            command,
            input=drawing.encode(),
            capture_output=True,
            timeout=TIMEOUT_SECONDS,
            env=environment,
            check=True,
        )
    except (subprocess.SubprocessError, OSError) as error:
        raise PictureError(NOT_DRAWN) from error
    return done.stdout
