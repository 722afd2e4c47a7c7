"""The painted part on its place in a photo: where it covers the dots, and its colour."""

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from decaljobs.craft.arrays import Flags, Numbers, Pixels
from decaljobs.craft.colour import ciede2000, lab_from_linear, srgb_to_linear
from decaljobs.craft.photo.glare import Spots
from decaljobs.craft.photo.light import evened
from decaljobs.craft.photo.load import PhotoRefused
from decaljobs.craft.photo.marks import Perspective, sample
from decaljobs.craft.trial.sheet import DOT, DOT_PITCH, SheetPlaces

# Limits; tried on simulated photos, no source.
DOT_CONTRAST = 0.12  # a dot is this much darker than what is round it, share of the paper's light
LEAST_CELLS = 4  # cells of the dot grid wholly inside the paint
SAME_PAINT = 6.0  # CIEDE2000 from the paint's middle colour
MOST_OTHER = 0.35  # share of the covered cells that may be something else
PAINT_SPREAD = 2.5  # CIELAB lightness over the paint
GLINT = 250.0  # sRGB value of a mirrored light
MOST_GLINT = 0.01
# Gloss adds light and never takes it away, so the darker part is nearer to the paint.
DARKER_SHARE = 0.6


@dataclass(frozen=True)
class Paint:
    """The painted part: its linear light (3,) and its spots, as shares of the bare paper's light,
    and the paper left bare beside it on its place, as it is."""

    light: Numbers
    cells: Spots
    bare: Spots


def read_paint(
    pixels: Pixels, perspective: Perspective, layout: SheetPlaces, field: Numbers
) -> Paint:
    """The paint on its place, linear light; field: the light field (6, 3).

    Raises PhotoRefused if no paint, too little, glare or more than one colour lies there.

    >>> from decaljobs.craft.trial.sheet import FILM_LAYOUT
    >>> grey_part = np.full((320, 700, 3), 188, np.uint8)  # over all of its place, 4 px to the mm
    >>> paper = np.zeros((6, 3))
    >>> paper[0] = 0.9
    >>> paint = read_paint(grey_part, Perspective(np.diag([4.0, 4.0, 1.0]), ()), FILM_LAYOUT, paper)
    >>> paint.light.round(2).tolist()
    [0.56, 0.56, 0.56]
    """
    columns, rows = layout.dot_grid
    grids = np.array(layout.dots)[:, None, :] + _cell_grid()
    srgb = sample(pixels, perspective.pixels(grids))
    plain = srgb_to_linear(srgb)
    light = evened(grids, plain, field)
    covered = ~_shows_dot(light).reshape(rows, columns)
    inner = ndimage.binary_erosion(covered, np.ones((3, 3)), border_value=1)
    _check_enough(covered, inner)
    chosen = inner.ravel()
    cells = np.median(light[chosen], axis=1)
    _check_glint(srgb[chosen])
    # Close beside the part the paper lies in its shadow.
    bare = ~ndimage.binary_dilation(covered, np.ones((3, 3))).ravel()
    places = np.array(layout.dots)
    return Paint(
        _even_colour(cells),
        Spots(places[chosen], cells),
        Spots(places[bare], _ring(plain[bare])),
    )


def _ring(light: Numbers) -> Numbers:
    """The paper (n, 3) round the dots of cells (n, samples, 3)."""
    return np.median(light[:, np.hypot(*_cell_grid().T) > DOT], axis=1)


def _cell_grid(count: int = 9) -> Numbers:
    steps = DOT_PITCH * ((np.arange(count) + 0.5) / count - 0.5)
    x, y = np.meshgrid(steps, steps)
    return np.stack([x.ravel(), y.ravel()], axis=-1)


def _shows_dot(light: Numbers) -> Flags:
    """Whether each cell (n, samples, 3) still shows its printed dot on bare paper."""
    away = np.hypot(*_cell_grid().T)
    bright = light.mean(axis=2)
    dot = bright[:, away < 0.4 * DOT].mean(axis=1)
    ring = np.median(bright[:, away > DOT], axis=1)
    return ring - dot > DOT_CONTRAST


def _check_enough(covered: Flags, inner: Flags) -> None:
    if not covered.any():
        raise PhotoRefused("no painted part lies on its place")
    if inner.sum() < LEAST_CELLS:
        raise PhotoRefused(
            "too little paint on its place; lay a flat painted area of at least 20 x 20 mm there"
        )


def _check_glint(srgb: Numbers) -> None:
    # A paint as pale as the paper is bright everywhere; a glint is bright in places only.
    bright = (srgb >= GLINT).any(axis=2)
    if bright.mean() > MOST_GLINT:
        raise PhotoRefused("a light is mirrored in the paint (glare); turn the sheet or the lamp")


def _even_colour(cells: Numbers) -> Numbers:
    labs = lab_from_linear(cells)
    middle = np.median(labs, axis=0)
    same = ciede2000(labs, middle) <= SAME_PAINT
    spread = float(np.quantile(labs[:, 0], 0.95) - np.quantile(labs[:, 0], 0.05))
    if (~same).mean() > MOST_OTHER or spread > PAINT_SPREAD:
        raise PhotoRefused(
            "the paint is not even in the photo (glare, a shadow, curved or in two colours); "
            "lay it flat and turn it until it looks even"
        )
    order = np.argsort(labs[:, 0])
    darker = order[: max(1, round(DARKER_SHARE * len(order)))]
    return cells[darker].mean(axis=0)
