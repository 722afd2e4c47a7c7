"""How much of each pixel is art, not paper and not nothing: 0 to 1."""

from typing import NamedTuple

import numpy as np
from PIL import Image
from scipy import ndimage

# The least contrast (0 to 255) that counts as a step: JPEG's ringing on white stays under half.
LEAST_STEP = 80
# px; an anti-aliased or JPEG-blurred step is over within two pixels, so this window sees its top
STEP_WINDOW = 5
# share of all the art; a stray speck smaller than this does not count towards the extent
STRAY_SHARE = 1 / 20_000


class Box(NamedTuple):
    """Extent in pixels from the picture's top left corner, to a part of a pixel."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """Width in pixels."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Height in pixels."""
        return self.bottom - self.top


def coverage(image: Image.Image) -> np.ndarray:
    """Share of each pixel that is art, 0 to 1, shape (height, width), float32.

    The alpha channel if there is one; else what is left when the white paper that reaches in
    from the border is taken away, each edge pixel scaled by the strongest colour beside it.
    Without white at the border the whole picture is art.
    """
    if image.mode == "RGBA":
        return np.asarray(image.getchannel("A"), np.float32) / np.float32(255)
    return off_paper(np.asarray(image.convert("RGB")))


def off_paper(rgb: np.ndarray) -> np.ndarray:
    """Share of each pixel that is not white paper, 0 to 1, from sRGB bytes (height, width, 3)."""
    # mixing with white scales the largest channel deficit in proportion, so it is a coverage
    deficit = 255 - rgb.min(axis=2)
    top = ndimage.maximum_filter(deficit, STEP_WINDOW)
    share = deficit.astype(np.float32) / np.maximum(top, LEAST_STEP)
    paper = _reached_from_border(share < 0.5)
    near_paper = ndimage.binary_dilation(paper, iterations=2)
    return np.where(near_paper, share, np.float32(1)) * _kept(paper, share)


def _reached_from_border(mask: np.ndarray) -> np.ndarray:
    labels, count = ndimage.label(mask)
    touching = np.zeros(count + 1, bool)
    for edge in (labels[0], labels[-1], labels[:, 0], labels[:, -1]):
        touching[edge] = True
    touching[0] = False
    return touching[labels]


def _kept(paper: np.ndarray, share: np.ndarray) -> np.ndarray:
    """1 but for the paper's own mottle away from any edge, which is 0."""
    far = paper & ~ndimage.binary_dilation(share >= 0.5, iterations=2)
    return (~far).astype(np.float32)


def box_of(cover: np.ndarray) -> Box | None:
    """Extent in pixels of the art in a coverage array, or None if there is none."""
    art = _without_strays(cover >= 0.5)
    if not art.any():
        return None
    columns = (cover * ndimage.binary_dilation(art)).max(axis=0)
    rows = (cover * ndimage.binary_dilation(art)).max(axis=1)
    left, right = _ends(columns)
    top, bottom = _ends(rows)
    return Box(left, top, right, bottom)


def _without_strays(art: np.ndarray) -> np.ndarray:
    labels, count = ndimage.label(art, np.ones((3, 3)))
    if count < 2:
        return art
    areas = np.bincount(labels.ravel())
    areas[0] = 0
    return (areas >= STRAY_SHARE * areas.sum())[labels] & art


def _ends(profile: np.ndarray) -> tuple[float, float]:
    """Where a profile of coverage begins and ends, its end pixels counting by their share."""
    solid = np.flatnonzero(profile >= 0.5)
    first, last = int(solid[0]), int(solid[-1])
    left = first + 1 - float(profile[first])
    right = last + float(profile[last])
    if first > 0:
        left -= float(profile[first - 1])
    if last + 1 < len(profile):
        right += float(profile[last + 1])
    return left, right
