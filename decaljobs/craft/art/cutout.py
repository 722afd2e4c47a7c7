"""Art taken off its paper and its empty border, as it is kept."""

from __future__ import annotations

import math

import numpy as np
from PIL import Image

from decaljobs.craft.arrays import Pixels
from decaljobs.craft.art.coverage import Share, box_of, coverage
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
    return Image.fromarray(_off_the_paper(np.asarray(art), cover[top:bottom, left:right]))


def _off_the_paper(mixed: Pixels, share: Share) -> Pixels:
    """RGBA pixels: each colour without the white paper that shows beside it."""
    pixels = np.empty((*share.shape, 4), np.uint8)
    pixels[..., :3] = mixed
    pixels[..., 3] = np.round(share * 255)
    pixels[share == 0, :3] = 0
    # few pixels are part paper, and a sheet of numbers for all of them fills the memory
    part = (share > 0) & (share < 1)
    some = share[part][:, None]
    alone = (mixed[part] - 255 * (1 - some)) / np.maximum(some, np.float32(1 / 255))
    pixels[part, :3] = np.round(np.clip(alone, 0, 255))
    return pixels
