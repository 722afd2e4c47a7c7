"""Artwork drawn from formulas, so that what measuring finds can be told from what is true.

A shape is a function of x and y in mm that is negative inside; pictures are drawn with every
pixel averaged over a fine grid, the way a good renderer anti-aliases.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from PIL import Image, ImageDraw, ImageFont

Shape = Callable[[np.ndarray, np.ndarray], np.ndarray]
BLACK, WHITE = (0, 0, 0), (255, 255, 255)


def disc(x0: float, y0: float, radius: float) -> Shape:
    return lambda x, y: np.hypot(x - x0, y - y0) - radius


def box(x0: float, y0: float, width: float, height: float, corner: float = 0.0) -> Shape:
    """Rectangle about a centre with rounded corners; its distance is exact."""

    def inside(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        dx = np.abs(x - x0) - width / 2 + corner
        dy = np.abs(y - y0) - height / 2 + corner
        outer = np.hypot(np.maximum(dx, 0), np.maximum(dy, 0))
        return outer + np.minimum(np.maximum(dx, dy), 0) - corner

    return inside


def polygon(corners: np.ndarray) -> Shape:
    """Signed distance to a closed polygon, any winding."""
    ends = np.roll(corners, -1, axis=0)

    def inside(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        x, y = np.broadcast_arrays(x, y)
        least, odd = np.full(x.shape, np.inf), np.zeros(x.shape, bool)
        for (ax, ay), (bx, by) in zip(corners, ends, strict=True):
            share = ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / (
                (bx - ax) ** 2 + (by - ay) ** 2
            )
            share = np.clip(share, 0, 1)
            least = np.minimum(
                least, np.hypot(x - ax - share * (bx - ax), y - ay - share * (by - ay))
            )
            if ay != by:
                odd ^= ((ay > y) != (by > y)) & (x < (bx - ax) * (y - ay) / (by - ay) + ax)
        return np.where(odd, -least, least)

    return inside


def star(x0: float, y0: float, outer: float, inner: float, points: int = 5) -> np.ndarray:
    """Corners of a star, the first straight up."""
    turns = np.arange(2 * points) * np.pi / points - np.pi / 2
    radii = np.where(np.arange(2 * points) % 2, inner, outer)
    return np.column_stack([x0 + radii * np.cos(turns), y0 + radii * np.sin(turns)])


def star_in_star(x0: float, y0: float, band: float) -> tuple[np.ndarray, np.ndarray]:
    """Corners of a star and of the mitred star all its edges lie `band` mm inside of it."""
    outer = star(x0, y0, 11, 4.4)
    tip, notch, middle = outer[0], outer[1], np.array([x0, y0])
    run = (notch - tip) / np.hypot(*(notch - tip))
    aside = middle - tip
    height = abs(run[0] * aside[1] - run[1] * aside[0])
    return outer, middle + (outer - middle) * (1 - band / height)


def union(*shapes: Shape) -> Shape:
    return lambda x, y: np.minimum.reduce([shape(x, y) for shape in shapes])


def cut(shape: Shape, *holes: Shape) -> Shape:
    return lambda x, y: np.maximum(shape(x, y), -union(*holes)(x, y))


def both(one: Shape, other: Shape) -> Shape:
    return lambda x, y: np.maximum(one(x, y), other(x, y))


def shares(shape: Shape, width: float, height: float, dpi: float, fine: int = 8) -> np.ndarray:
    """Share of each pixel inside the shape, exact to 1/fine² where the edge runs."""
    pixel = 25.4 / dpi
    columns, rows = round(width / pixel), round(height / pixel)
    x = (np.arange(columns) + 0.5) * pixel
    y = (np.arange(rows) + 0.5) * pixel
    whole = shape(x[None, :], y[:, None])
    result = (whole < 0).astype(float)
    at_y, at_x = np.nonzero(np.abs(whole) < 1.5 * pixel)
    steps = ((np.arange(fine) + 0.5) / fine - 0.5) * pixel
    total = np.zeros(len(at_x))
    for dy in steps:
        for dx in steps:
            total += shape(x[at_x] + dx, y[at_y] + dy) < 0
    result[at_y, at_x] = total / fine**2
    return result


def draw(
    silhouette: Shape,
    light: Shape,
    size: tuple[float, float],
    dpi: float,
    band: tuple[int, int, int] = BLACK,
    colour: tuple[int, int, int] = WHITE,
    fine: int = 8,
) -> Image.Image:
    """RGBA picture of a band-coloured silhouette with a light area inside it."""
    cover = shares(silhouette, *size, dpi, fine)
    lit = np.minimum(shares(both(silhouette, light), *size, dpi, fine), cover)
    portion = np.divide(lit, cover, out=np.zeros_like(lit), where=cover > 0)[..., None]
    rgb = np.array(band) * (1 - portion) + np.array(colour) * portion
    pixels = np.dstack([rgb, cover * 255])
    return Image.fromarray(np.round(pixels).astype(np.uint8), "RGBA")


def on_paper(image: Image.Image) -> Image.Image:
    """The same picture on opaque white paper."""
    paper = Image.new("RGBA", image.size, (*WHITE, 255))
    return Image.alpha_composite(paper, image).convert("RGB")


def lettering(text: str, size_mm: float, band_mm: float, dpi: int = 600) -> Image.Image:
    """White letters in a black band, drawn four times as large and averaged down."""
    fine = 4
    pixel = 25.4 / dpi / fine
    font = ImageFont.load_default(round(size_mm / pixel))
    band = round(band_mm / pixel)
    left, top, right, bottom = font.getbbox(text, stroke_width=band)
    edge = round(2 / pixel / fine) * fine
    size = tuple(side + 2 * edge + -side % fine for side in (int(right - left), int(bottom - top)))
    layers = []
    for stroke in (band, 0):
        layer = Image.new("L", size)
        place = (edge - left, edge - top)
        ImageDraw.Draw(layer).text(place, text, fill=255, font=font, stroke_width=stroke)
        layers.append(np.asarray(layer.reduce(fine)).astype(float))
    cover, light = layers[0], np.minimum(*layers)
    grey = np.divide(light, cover, out=np.zeros_like(light), where=cover > 0) * 255
    return Image.fromarray(np.dstack([grey, grey, grey, cover]).round().astype(np.uint8))
