"""Faint reflections that no single place of a photo gives away: found by what they do to many.

A mirrored lamp or window adds the same light to everything under it: the bare paper rises above
its smooth field, prints come out paler than prints of like colours elsewhere, and a glossy paint
is paler in one part than in another.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.colour import ciede2000, lab_from_linear
from decaljobs.craft.photo.light import over_sheet, square_terms
from decaljobs.craft.photo.load import PhotoRefused
from decaljobs.craft.trial.sheet import FRAME_WIDTH, SheetPlaces

# Reaches (mm) and edges (2 is soft, 5 a window's) of the reflections that are looked for, and
# where on the sheet, mm apart; tried on simulated photos, no source.
REACHES, EDGES = (9.0, 13.0, 18.0, 27.0, 40.0), (2.0, 5.0)
STEP = 12.0
# Near the paint are middles within so many mm of its own, of reaches that can cover it.
NEAR, LEAST_NEAR = 14.0, 14.0
# Elsewhere a reflection harms a few prints only, and so many shapes are tried that one of them
# stands out by chance; a spread there counts for so much.
ELSEWHERE = 0.65
# A strip has so few spots of bare paper that shapes stand out by chance more easily.
FEW_SPOTS, OF_FEW = 50, 0.85
# A reflection that would move so few places tells nothing; inverse squared shares of light.
LEAST_WEIGHT = 200.0
# Paper and prints are never more even than this, as shares of the paper's light.
LEAST_NOISE = 0.002
# Paper darker than its field by so much lies in a shadow or under a number, and tells nothing.
SHADOW = 0.02
# A print's colour is followed by a curve of ten terms if there are enough, else by a plane.
ENOUGH_PRINTS = 30
# A reflection as wide as is looked for lifts the whole paint by so many times what it lifts one
# part above another.
WIDE_SHARE = 2.7
# Black squares within so many mm of the paint place lie beside it; a glossy paint mirrors so many
# times what ink does. A plane through the other ink needs so many places.
BESIDE, GLOSS, ENOUGH_INKS = 12.0, 3.0, 6
# How far the paint's spots and the prints' colours lie from their mean, about: mm and sRGB steps;
# divided by it, the terms of a fit are of like size.
FROM_MIDDLE, FROM_GREY = 15.0, 64.0
# Spreads by which a reflection on the sheet stands out, and CIEDE2000 by which one on the paint may
# mislead, told from the paint and from the black beside it; together as long as 1 they refuse a
# photo, as long as DOUBTED they cast a doubt on it.
SURE_SPREADS, MISLED, VEILED = 3.6, 3.0, 2.0
DOUBTED = 0.8


@dataclass(frozen=True)
class Spots:
    """Places (n, 2), mm, and their light (n, 3) as shares of the bare paper's there."""

    places: Numbers
    light: Numbers

    def joined(self, other: "Spots") -> "Spots":
        """These spots and others of their kind."""
        return Spots(np.vstack([self.places, other.places]), np.vstack([self.light, other.light]))


def check_reflections(on_sheet: float, on_paint: float, on_black: float = 0.0) -> bool:
    """Whether a photo is doubtful, from a reflection's spreads on the sheet and CIEDE2000 on paint.

    on_black: CIEDE2000 of the paint as the black beside it tells. Raises PhotoRefused with the
    reason if it is worse than that.

    >>> check_reflections(2.0, 0.5), check_reflections(3.4, 0.5)
    (False, True)
    """
    sheet, paint = on_sheet / SURE_SPREADS, float(np.hypot(on_paint / MISLED, on_black / VEILED))
    size = float(np.hypot(sheet, paint))
    if size > 1:
        where = "paint" if paint > sheet else "sheet"
        raise PhotoRefused(
            f"a faint reflection seems to lie on the {where}; turn it away from lamps and windows"
        )
    return size > DOUBTED


def reflection_on_paint(cells: Spots) -> float:
    """By how much, CIEDE2000, a reflection may mislead about the paint, from its unevenness.

    cells: the paint's own spots, at least 4. A wide reflection lifts the whole paint and one part
    a little more than another; its darkest channel shows that best.

    >>> places = np.array([[4.0 * x, 4.0 * y] for x in range(5) for y in range(5)])
    >>> even, lifted = np.full((25, 3), 0.2), 0.2 + 0.002 * np.repeat(places[:, :1], 3, axis=1)
    >>> [round(reflection_on_paint(Spots(places, light)), 1) for light in (even, lifted)]
    [0.0, 10.8]
    """
    moved = (cells.places - cells.places.mean(axis=0)) / FROM_MIDDLE
    terms = square_terms(moved) if len(moved) > 12 else np.ones((len(moved), 1))
    smooth = terms @ _steady_fit(terms, cells.light)
    paint = np.median(smooth, axis=0)
    channel = smooth[:, int(np.argmin(paint))]
    return _misled(paint, WIDE_SHARE * float(np.subtract(*np.quantile(channel, [0.97, 0.03]))))


def reflection_on_black(inks: Spots, paint: Numbers, layout: SheetPlaces) -> float:
    """By how much, CIEDE2000, a reflection may mislead about the paint, from black ink beside it.

    inks: evened; paint: linear light (3,). The black beside the paint place is held against a
    plane through the sheet's other ink; 0 if too little of either is seen.

    >>> from decaljobs.craft.trial.sheet import FILM_LAYOUT
    >>> squares, strip = FILM_LAYOUT.inks, FILM_LAYOUT.code_cells[::2]
    >>> places = np.array([box.centre for box in (*squares, *strip)])
    >>> even, veiled = np.full((len(places), 3), 0.02), np.full((len(places), 3), 0.02)
    >>> veiled[:8] += 0.004  # the squares beside the paint
    >>> paint = np.array([0.05, 0.06, 0.1])
    >>> [round(reflection_on_black(Spots(places, light), paint, FILM_LAYOUT), 1)
    ...     for light in (even, veiled)]
    [0.0, 2.5]
    """
    away = np.abs(inks.places - layout.paint.centre)
    near = (away <= np.array([layout.paint.width, layout.paint.height]) / 2 + BESIDE).all(axis=1)
    near &= inks.places[:, 1] < layout.code_cells[0].y
    if (~near).sum() < ENOUGH_INKS or not near.any():
        return 0.0
    bright, terms = _ink_terms(inks)
    off = bright - terms @ np.linalg.lstsq(terms[~near], bright[~near], rcond=None)[0]
    lifted = 3 * float(np.median(bright)) ** 2 * float(np.median(off[near]))
    return _misled(paint, GLOSS * max(lifted, 0.0))


def _misled(paint: Numbers, lifted: float) -> float:
    without = np.maximum(paint - lifted, 0.0005)
    return float(ciede2000(lab_from_linear(paint), lab_from_linear(without)))


def reflection_on_sheet(
    paper: Spots, prints: Spots, colours: Numbers, inks: Spots, layout: SheetPlaces
) -> float:
    """How many spreads the likeliest reflection stands out, 0 for none.

    paper: light is that of the paper itself, not evened; prints and inks: evened; colours: the
    prints' file values (n, 3), 0 to 255; inks: places of full ink.

    >>> from decaljobs.craft.trial.sheet import FILM_LAYOUT
    >>> def spots(boxes, light, glare):
    ...     places = np.array([box.centre for box in boxes])
    ...     away = np.hypot(*(places - FILM_LAYOUT.paint.centre).T)
    ...     lift = glare * np.exp(-((away / 28) ** 5))
    ...     return Spots(places, np.repeat((light + lift)[:, None], 3, axis=1))
    >>> def stands_out(glare):
    ...     paper = spots((*FILM_LAYOUT.gaps, *FILM_LAYOUT.rims, *FILM_LAYOUT.papers), 0.8, glare)
    ...     prints = spots(FILM_LAYOUT.patches, 0.2, glare)
    ...     inks = spots(FILM_LAYOUT.inks, 0.02, glare)
    ...     colours = np.linspace([80, 90, 100], [130, 110, 120], len(prints.places))
    ...     return reflection_on_sheet(paper, prints, colours, inks, FILM_LAYOUT)
    >>> round(stands_out(0.0), 1), stands_out(0.05) > SURE_SPREADS
    (0.0, True)
    """
    shapes = _shapes(layout)
    told = np.zeros(len(shapes))
    weight = np.zeros(len(shapes))
    for one in (_left_of_paper(paper), _left_of_prints(prints, colours), _left_of_inks(inks)):
        lift = _lifts(shapes, one.places) * one.gain
        lift = lift - (lift @ one.basis) @ one.basis.T
        told += lift @ one.rest / one.noise**2
        weight += (lift**2).sum(axis=1) / one.noise**2
    spreads = told / np.sqrt(np.maximum(weight, LEAST_WEIGHT))
    away = np.abs(shapes[:, :2] - layout.paint.centre).max(axis=1)
    near = (away <= NEAR) & (shapes[:, 2] >= LEAST_NEAR)
    size = max(0.0, float(spreads[near].max()), ELSEWHERE * float(spreads.max()))
    return size * (OF_FEW if len(paper.places) < FEW_SPOTS else 1.0)


@dataclass(frozen=True)
class _Left:
    """What a smooth fit leaves at places: the rest (n,), the fit's basis (n, k), its noise, and
    how strongly light added there shows (n,)."""

    places: Numbers
    rest: Numbers
    basis: Numbers
    noise: float
    gain: Numbers


def _left_of_paper(paper: Spots) -> _Left:
    bright = paper.light.mean(axis=1)
    bright = bright / np.median(bright)
    terms = square_terms(over_sheet(paper.places))
    kept = np.ones(len(bright), dtype=bool)
    for _ in range(3):
        off = bright - terms @ np.linalg.lstsq(terms[kept], bright[kept], rcond=None)[0]
        kept = off > -max(SHADOW, 4 * float(np.median(np.abs(off))))
    return _left(paper.places[kept], bright[kept], terms[kept], np.ones(int(kept.sum())))


def _left_of_prints(prints: Spots, colours: Numbers) -> _Left:
    """On a scale of cube roots, near to lightness, where a printer's scatter is even."""
    bright = np.cbrt(np.maximum(prints.light.mean(axis=1), 1e-4))
    moved = (colours - colours.mean(axis=0)) / FROM_GREY
    few = len(bright) < ENOUGH_PRINTS
    terms = np.column_stack([np.ones(len(moved)), moved]) if few else square_terms(moved)
    return _left(prints.places, bright, terms, 1 / (3 * bright**2))


def _left_of_inks(inks: Spots) -> _Left:
    bright, terms = _ink_terms(inks)
    return _left(inks.places, bright, terms, 1 / (3 * bright**2))


def _ink_terms(inks: Spots) -> tuple[Numbers, Numbers]:
    """Cube roots of black's light (n,) and the terms of a plane (n, 3).

    What a lens scatters and a camera's tones do to black changes slowly over a photo.
    """
    bright = np.cbrt(np.maximum(inks.light.mean(axis=1), 1e-4))
    return bright, np.column_stack([np.ones(len(bright)), over_sheet(inks.places)])


def _left(places: Numbers, values: Numbers, terms: Numbers, gain: Numbers) -> _Left:
    basis = np.linalg.qr(terms)[0]
    rest = values - basis @ (basis.T @ values)
    free = max(1, len(values) - terms.shape[1])
    return _Left(places, rest, basis, max(LEAST_NOISE, float(np.sqrt(rest @ rest / free))), gain)


def _steady_fit(terms: Numbers, light: Numbers) -> Numbers:
    """Least squares over all but the spots that stand out."""
    kept = np.ones(len(terms), dtype=bool)
    bright = light.mean(axis=1)
    for _ in range(3):
        off = np.abs(bright - terms @ np.linalg.lstsq(terms[kept], bright[kept], rcond=None)[0])
        kept = off <= max(3 * float(np.median(off)), 1e-5)
    return np.asarray(np.linalg.lstsq(terms[kept], light[kept], rcond=None)[0])


@lru_cache(maxsize=4)
def _shapes(layout: SheetPlaces) -> Numbers:
    """Reflections looked for: middle x and y, reach, edge (n, 4), on a grid over the sheet."""
    x, y = layout.paint.centre
    across = np.arange(x % STEP, FRAME_WIDTH, STEP)
    down = np.arange(y % STEP, layout.height, STEP)
    found = [
        (left, top, reach, edge)
        for left in across
        for top in down
        for reach in REACHES
        for edge in EDGES
    ]
    return np.array(found)


def _lifts(shapes: Numbers, places: Numbers) -> Numbers:
    """The light that each shape adds at each place, (shapes, places), 1 in its middle."""
    away = np.hypot(shapes[:, :1] - places[:, 0], shapes[:, 1:2] - places[:, 1])
    return np.asarray(np.exp(-((away / shapes[:, 2:3]) ** shapes[:, 3:])))
