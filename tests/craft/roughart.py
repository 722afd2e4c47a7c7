"""Rough art drawn at random: no anti-aliasing, outline bands of one pixel and more."""

from __future__ import annotations

import numpy as np
import shapely
from PIL import Image, ImageDraw
from scipy import ndimage
from shapely.geometry import LineString

from decaljobs.craft.artwork import Measurement

DPIS = (150, 300, 600)
# pixels
LEAST_SIDE, MOST_SIDE, EDGE, MOST_BAND = 80, 420, 8, 8


def rough_art(seed: int) -> tuple[Image.Image, int]:
    """White discs, boxes, jagged polygons and lines in one black band, and the dpi meant."""
    chance = np.random.default_rng(seed)
    width, height = (int(side) for side in chance.integers(LEAST_SIDE, MOST_SIDE, 2))
    band = int(chance.integers(1, MOST_BAND + 1))
    mask = Image.new("1", (width, height))
    for _ in range(int(chance.integers(1, 6))):
        _shape(ImageDraw.Draw(mask), chance, width, height)
    light = np.asarray(mask)
    corners = np.ones((3, 3)) if chance.random() < 0.5 else None
    art = np.zeros((height, width, 4), np.uint8)
    art[ndimage.binary_dilation(light, corners, band)] = (0, 0, 0, 255)
    art[light] = 255
    return Image.fromarray(art), int(chance.choice(DPIS))


def _shape(draw: ImageDraw.ImageDraw, chance: np.random.Generator, width: int, height: int) -> None:
    def places(count: int) -> list[tuple[int, int]]:
        xs, ys = (chance.integers(EDGE, side - EDGE, count).tolist() for side in (width, height))
        return list(zip(xs, ys, strict=True))

    kind = int(chance.integers(0, 4))
    if kind < 2:
        (left, top), (right, bottom) = np.sort(places(2), axis=0).tolist()
        corners = [(left, top), (right + 6, bottom + 6)]
        (draw.ellipse if kind else draw.rectangle)(corners, fill=1)
    elif kind == 2:
        draw.polygon(places(5), fill=1)
    else:
        draw.line(places(3), fill=1, width=int(chance.integers(2, 14)))


def least_share(found: Measurement) -> float:
    """Least share of the local width that the base cut keeps clear, measured every 0.02 mm."""
    least = 1.0
    for ring in found.base.line.rings:
        line = shapely.segmentize(LineString(ring), 0.02)
        points = shapely.points(shapely.get_coordinates(line))
        outer = shapely.distance(found.silhouette.boundary, points)
        outer = np.where(shapely.contains(found.silhouette, points), outer, -outer)
        inner = shapely.distance(found.base.backed, points)
        share = np.minimum(outer, inner) / np.maximum(outer + inner, 1e-9)
        least = min(least, float(share.min()))
    return least
