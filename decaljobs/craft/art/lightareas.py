"""Which parts of the art need white beneath them, and what colour the band round them has."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from decaljobs.craft.arrays import Pixels
from decaljobs.craft.art.coverage import (
    LEAST_STEP,
    SPECK_MM2,
    STEP_WINDOW,
    Mask,
    Share,
    grown,
    near_edge,
    without_specks,
)
from decaljobs.craft.colour import Colour, lab_from_srgb

# share; a pixel with less coverage may carry the paper's colour in its own
OPAQUE = 0.98
# share; a pixel with no more coverage holds no art at all
CLEAR = 0.02
# px; how far beyond the opaque art its colours are carried on
REACH = 3
# px; along the edge light strips of no more than two pixels within this do not count
RIM = 2
# sRGB steps; colours no farther apart are one colour with its noise
SAME_COLOUR = 40
# a step smaller than this share of the art's contrast is JPEG's ringing, up to this many steps
STEP_OF_CONTRAST, MOST_STEP = 0.4, 160
# Axes of luma and chroma (Rec. ITU-R BT.601-7), all scaled so that black and white lie as far
# apart as in sRGB. JPEG and WEBP store chroma coarsely, so it counts for less.
CHROMA_WEIGHT = 0.4
DISTANCE_AXES = np.sqrt(3) * np.array(
    [
        [0.299, 0.587, 0.114],
        [-0.1687 * CHROMA_WEIGHT, -0.3313 * CHROMA_WEIGHT, 0.5 * CHROMA_WEIGHT],
        [0.5 * CHROMA_WEIGHT, -0.4187 * CHROMA_WEIGHT, -0.0813 * CHROMA_WEIGHT],
    ]
)
# share of the edge that a colour must take up to be a candidate for the band
BAND_SHARE = 0.2
# CIELAB L*; an edge lighter than this needs white beneath itself, so it is no band [our choice]
LIGHTEST_BAND = 60.0
# CIELAB L*; art all of one colour darker than this shows well enough without white [our choice]
DARK = 25.0


@dataclass(frozen=True)
class LightAreas:
    """Share of each pixel that needs white beneath, 0 to 1, beyond the art's edge too.

    `band_colour` is None where the art's edge is itself light: then all the art is light.
    """

    share: Share
    band_colour: Colour | None


def light_areas(
    rgb: Pixels, cover: Share, pixel_mm: float, band_colour: Colour | None = None
) -> LightAreas:
    """Light areas of a picture of sRGB bytes (height, width, 3) with its coverage.

    The band's colour is found along the edge unless it is given. Specks and pinholes under
    0.08 mm² are left out; a pixel measures `pixel_mm`.

    >>> art = np.full((14, 14, 3), 255, np.uint8)  # light, within a band of 3 px
    >>> art[:3] = art[-3:] = art[:, :3] = art[:, -3:] = (40, 60, 90)
    >>> cover = np.pad(np.ones((14, 14), np.float32), 2)
    >>> areas = light_areas(np.pad(art, ((2, 2), (2, 2), (0, 0))), cover, pixel_mm=0.1)
    >>> areas.band_colour, areas.share[9].round().astype(int).tolist()
    ((40, 60, 90), [0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 1, 1, 0, 0, 0, 0, 0])
    """
    opaque = cover >= OPAQUE
    colour = band_colour or _find_band_colour(rgb, opaque)
    if colour is None:
        return LightAreas(_all_of(cover), None)
    share = _light_share(_distance_from(rgb, colour, cover, opaque), opaque)
    share = without_specks(share, SPECK_MM2 / pixel_mm**2)
    if band_colour is None and not (share[opaque] >= 0.5).any() and _lightness(colour) > DARK:
        # all of one colour and not a dark one: it is no band but what needs the white
        return LightAreas(_all_of(cover), None)
    return LightAreas(share, colour)


def _all_of(cover: Share) -> Share:
    return (ndimage.maximum_filter(cover, 2 * REACH + 1) > 0).astype(np.float32)


def _lightness(colour: Colour) -> float:
    return float(lab_from_srgb(colour)[0])


def _find_band_colour(rgb: Pixels, opaque: Mask) -> Colour | None:
    """Colour of the outline band, sRGB 0 to 255: the darkest common colour along the edge.

    None if that is lighter than L* 60, or nothing is opaque: then there is no band.
    """
    first, deeper = near_edge(opaque, 2), near_edge(opaque, 4) & ~near_edge(opaque, 1)
    along_edge = rgb[first]
    if not len(along_edge):
        return None
    bins = (along_edge >> 5).astype(np.int32) @ np.array([64, 8, 1])
    counts = np.bincount(bins, minlength=512)
    # a colour on a bin's border is spread over two, so each candidate gathers what is near it
    centres = [
        along_edge[bins == one].mean(axis=0) for one in np.argsort(-counts)[:8] if counts[one]
    ]
    found = [_gather(along_edge, centre) for centre in centres]
    colours = np.array([colour for colour, share in found if share >= BAND_SHARE] or [found[0][0]])
    lightness = lab_from_srgb(colours)[:, 0]
    darkest = int(np.argmin(lightness))
    if lightness[darkest] > LIGHTEST_BAND:
        return None
    # the outermost pixels may be tinged by the paper; where the band is wide, look deeper
    pure, share = _gather(rgb[deeper], colours[darkest])
    red, green, blue = (int(v) for v in (pure if share >= BAND_SHARE else colours[darkest]))
    return red, green, blue


def _gather(pixels: Pixels, centre: npt.NDArray[np.float64]) -> tuple[Pixels, float]:
    """The middle colour of the pixels near a colour, and their share of all."""
    near = np.abs(pixels - centre).max(axis=1) <= SAME_COLOUR
    if not near.any():
        return centre.astype(np.uint8), 0.0
    return np.median(pixels[near], axis=0).astype(np.uint8), float(near.mean())


def _distance_from(rgb: Pixels, colour: Colour, cover: Share, opaque: Mask) -> Share:
    """Distance from a colour; round the edge that of the nearest opaque pixel."""
    square = np.zeros(cover.shape, np.float32)
    for weights in DISTANCE_AXES:
        along = sum(
            np.float32(weight) * rgb[:, :, channel] for channel, weight in enumerate(weights)
        )
        square += (along - np.float32(np.dot(weights, colour))) ** 2
    distance = np.sqrt(square, out=square)
    if not opaque.any():
        return np.zeros_like(distance)
    # dents of a pixel or two, which JPEG's ringing leaves in the opaque art, would let paper in;
    # one that is quite clear was drawn so
    solid = opaque | (~grown(~grown(opaque, 1), 1) & (cover > CLEAR))
    distance[~opaque] = 0
    _fill(distance, solid & ~opaque, opaque)
    rim = solid & grown(~solid, RIM)
    # paper shines into the outermost pixels, and JPEG's ringing with it: no strip that thin counts
    distance[rim] = ndimage.grey_opening(distance, 3)[rim]
    carried = nearest_opaque(solid)
    rows, columns = np.nonzero(~solid & grown(cover > CLEAR, REACH))
    distance[rows, columns] = distance[carried[0, rows, columns], carried[1, rows, columns]]
    return distance


def _fill(distance: Share, dents: Mask, opaque: Mask) -> None:
    """Give each pixel of a dent the least distance of the opaque pixels beside it."""
    rows, columns = np.nonzero(dents)
    last_row, last_column = (side - 1 for side in distance.shape)
    least = np.full(len(rows), np.inf, np.float32)
    for down, across in product((-1, 0, 1), repeat=2):
        beside = np.clip(rows + down, 0, last_row), np.clip(columns + across, 0, last_column)
        least = np.minimum(least, np.where(opaque[beside], distance[beside], np.inf))
    distance[rows, columns] = least


def nearest_opaque(opaque: Mask) -> npt.NDArray[np.int32]:
    """Row and column of the opaque pixel nearest to each, in pixels, shape (2, height, width).

    At least one pixel must be opaque.

    >>> _, columns = nearest_opaque(np.array([[False, False, True, True, False]]))
    >>> columns.tolist()
    [[2, 2, 2, 3, 3]]
    """
    return ndimage.distance_transform_edt(~opaque, return_distances=False, return_indices=True)


def _light_share(distance: Share, opaque: Mask) -> Share:
    """Share of light colour in each pixel, measured against the strongest colour beside it."""
    step = _least_step(distance[opaque])
    share = distance / np.maximum(ndimage.maximum_filter(distance, STEP_WINDOW), step)
    # away from the band a weak colour beside a strong one is still light
    share[ndimage.minimum_filter(distance, STEP_WINDOW) > step / 2] = 1
    return share


def _least_step(distances: Share) -> float:
    """The least contrast that counts, the larger the stronger the art's own contrast."""
    if not len(distances):
        return LEAST_STEP
    strong = float(np.percentile(distances, 95))
    return float(np.clip(STEP_OF_CONTRAST * strong, LEAST_STEP, MOST_STEP))
