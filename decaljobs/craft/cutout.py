"""Art taken off its paper and its empty border, as it is kept."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from PIL import Image

from decaljobs.craft.coverage import Share, box_of, coverage
from decaljobs.craft.pictures import BLANK, PictureError

# px of nothing left round the art, so that its soft edge stays whole
MARGIN = 1


def cut_out(image: Image.Image) -> Image.Image:
    """RGBA picture of the visible art alone: white paper clear, empty border gone.

    A width given for it then means the art, not its paper. Pixels that are part paper become
    part transparent. Raises PictureError for a blank picture.

    >>> page = Image.new("RGB", (40, 30), "white")
    >>> page.paste("#203040", (10, 10, 30, 20))
    >>> cut_out(page).size
    (22, 12)
    """
    cover = coverage(image)
    box = box_of(cover)
    if box is None:
        raise PictureError(BLANK)
    left, top = (max(0, math.floor(side) - MARGIN) for side in (box.left, box.top))
    right = min(image.width, math.ceil(box.right) + MARGIN)
    bottom = min(image.height, math.ceil(box.bottom) + MARGIN)
    art = image.crop((left, top, right, bottom))
    if art.mode == "RGBA":
        return art
    share = cover[top:bottom, left:right, None]
    return Image.fromarray(_off_the_paper(np.asarray(art, np.float32), share))


def _off_the_paper(mixed: npt.NDArray[np.float32], share: Share) -> npt.NDArray[np.uint8]:
    """RGBA pixels: each colour without the white paper that shows beside it."""
    alone = (mixed - 255 * (1 - share)) / np.maximum(share, 1 / 255)
    pixels = np.dstack([np.clip(alone, 0, 255), share * 255])
    return np.round(pixels).astype(np.uint8)
