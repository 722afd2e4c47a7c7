"""How much of each pixel is art, not paper and not nothing: 0 to 1."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from PIL import Image
from scipy import ndimage

Share = npt.NDArray[np.float32]
Mask = npt.NDArray[np.bool_]

# The least contrast (0 to 255) that counts as a step: JPEG's ringing on white stays under half.
LEAST_STEP = 80
# px; an anti-aliased or JPEG-blurred step is over within two pixels, so this window sees its top
STEP_WINDOW = 5
# share of all the art; a stray speck smaller than this does not count towards the extent
STRAY_SHARE = 1 / 20_000
# mm²; smaller specks and pinholes cannot be cut or seen apart, common practice, no source
SPECK_MM2 = 0.08


class PixelBox(NamedTuple):
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


def coverage(image: Image.Image) -> Share:
    """Share of each pixel that is art, 0 to 1, shape (height, width).

    The alpha channel if there is one; else what is left when the white paper that reaches in
    from the border is taken away, each edge pixel scaled by the strongest colour beside it.
    Without white at the border the whole picture is art.

    >>> page = Image.new("RGB", (8, 6), "white")
    >>> page.paste("navy", (2, 2, 6, 4))
    >>> coverage(page)[2].tolist()
    [0.0, 0.0, 1.0, 1.0, 1.0, 1.0, 0.0, 0.0]
    """
    if image.mode == "RGBA":
        return np.asarray(image.getchannel("A"), np.float32) / np.float32(255)
    return _off_paper(np.asarray(image.convert("RGB")))


def _off_paper(rgb: npt.NDArray[np.uint8]) -> Share:
    """Share of each pixel that is not white paper, 0 to 1, from sRGB bytes (height, width, 3)."""
    # mixing with white scales the largest channel deficit in proportion, so it is a coverage
    red, green, blue = (rgb[..., channel] for channel in range(3))
    deficit = 255 - np.minimum(np.minimum(red, green), blue)
    top = ndimage.maximum_filter(deficit, STEP_WINDOW)
    share = deficit.astype(np.float32) / np.maximum(top, LEAST_STEP)
    thin = share < 0.5
    paper = reaching(thin, _border(thin.shape))
    # the paper's own mottle, away from any edge, is no art
    share[paper & ~grown(~thin, 2)] = 0
    edge = paper | (grown(paper, 2) & ~thin)
    return np.where(edge, share, np.float32(1))


def _border(shape: tuple[int, ...]) -> Mask:
    border = np.zeros(shape, bool)
    border[[0, -1]] = border[:, [0, -1]] = True
    return border


def reaching(mask: Mask, places: Mask) -> Mask:
    """The parts of a mask (its pixels that hang together) with a pixel at one of the places.

    >>> row = np.array([[True, True, False, True]])
    >>> reaching(row, np.array([[True, False, False, False]])).tolist()
    [[True, True, False, False]]
    """
    labels, count = ndimage.label(mask)
    reached = np.zeros(count + 1, bool)
    reached[labels[places]] = True
    reached[0] = False
    return reached[labels]


def box_of(
    cover: Share, width_mm: float | None = None, height_mm: float | None = None
) -> PixelBox | None:
    """Extent in pixels of the art in a coverage array, or None if there is none.

    `cover` is 0 to 1, shape (height, width). Where the printed width or height is known, specks
    under 0.08 mm² do not count (common practice, no source); where it is not, specks under
    1/20,000 of all the art do not.

    >>> drawn = np.zeros((6, 9), np.float32)
    >>> drawn[2:5, 3:7] = 1
    >>> drawn[2:5, 7] = 0.25
    >>> box_of(drawn)
    PixelBox(left=3.0, top=2.0, right=7.25, bottom=5.0)
    """
    labels, count = ndimage.label(cover >= 0.5, np.ones((3, 3)))
    if not count:
        return None
    places = ndimage.find_objects(labels)
    extents = np.array([(s[1].start, s[0].start, s[1].stop, s[0].stop) for s in places])
    areas = np.bincount(labels.ravel())[1:]
    kept = areas >= STRAY_SHARE * areas.sum()
    # dropping specks shrinks the extent, so each pixel stands for more: again until it settles
    for _ in range(8):
        whole = _around(extents[kept])
        pixel_mm = _pixel_mm(whole, width_mm, height_mm)
        if pixel_mm is None:
            break
        larger = areas * pixel_mm**2 >= SPECK_MM2
        if not larger.any() or (larger == kept).all():
            break
        kept = larger
    return _to_part_of_pixel(cover, np.concatenate([[False], kept])[labels], _around(extents[kept]))


def _around(extents: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    return np.concatenate([extents[:, :2].min(axis=0), extents[:, 2:].max(axis=0)])


def _pixel_mm(
    whole: npt.NDArray[np.int64], width_mm: float | None, height_mm: float | None
) -> float | None:
    if width_mm is not None:
        return width_mm / float(whole[2] - whole[0])
    return None if height_mm is None else height_mm / float(whole[3] - whole[1])


def _to_part_of_pixel(cover: Share, art: Mask, whole: npt.NDArray[np.int64]) -> PixelBox:
    """The extent with its outermost pixels counting by their share."""
    left, top, right, bottom = (int(side) for side in whole)
    rows = slice(max(top - 1, 0), bottom + 1)
    columns = slice(max(left - 1, 0), right + 1)
    shares = cover[rows, columns] * grown(art[rows, columns], 1)
    across = _ends(shares.max(axis=0))
    down = _ends(shares.max(axis=1))
    return PixelBox(
        columns.start + across[0],
        rows.start + down[0],
        columns.start + across[1],
        rows.start + down[1],
    )


def _ends(profile: Share) -> tuple[float, float]:
    """Where a profile of coverage begins and ends, in pixels."""
    solid = np.flatnonzero(profile >= 0.5)
    first, last = int(solid[0]), int(solid[-1])
    left = first + 1 - float(profile[: first + 1].sum())
    right = last + float(profile[last:].sum())
    return left, right


def grown(mask: Mask, pixels: int) -> Mask:
    """The mask with everything within so many pixels (0 or more), straight or slanting.

    >>> dot = np.array([[False, False, False, True, False, False, False]])
    >>> grown(dot, 2).astype(int).tolist()
    [[0, 1, 1, 1, 1, 1, 0]]
    """
    return ndimage.maximum_filter(mask.view(np.uint8), 2 * pixels + 1).view(bool)


def near_edge(art: Mask, pixels: int) -> Mask:
    """The art within so many pixels (1 or more) of its edge, where the picture ends too.

    >>> near_edge(np.array([[True, True, True, True, True, False]] * 5), 1)[2].tolist()
    [True, False, False, False, True, False]
    """
    # a picture cropped to its art shows none of what lies beside it
    outside = np.pad(~art, 1, constant_values=True)
    return grown(outside, pixels)[1:-1, 1:-1] & art


def without_specks(share: Share, least_px: float) -> Share:
    """The shares with every speck and pinhole of fewer than `least_px` pixels wiped out.

    >>> drawn = np.array([[0, 0, 1, 0, 0, 1, 1, 1, 0, 0]], np.float32)
    >>> without_specks(drawn, 2).astype(int).tolist()
    [[0, 0, 0, 0, 0, 1, 1, 1, 0, 0]]
    """
    share = _with_small_parts(share, share >= 0.5, least_px, 0)
    return _with_small_parts(share, share < 0.5, least_px, 1)


def _with_small_parts(share: Share, mask: Mask, least_px: float, value: float) -> Share:
    """The shares with the small parts of a mask set to a value."""
    labels, _ = ndimage.label(mask)
    small = np.bincount(labels.ravel()) < least_px
    small[0] = False
    if not small.any():
        return share
    return np.where(small[labels], np.float32(value), share)
