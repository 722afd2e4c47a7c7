"""From measured rounds to the best file colour: a ridge-linear local model of the printer.

The model says how far a print lands from where sRGB says it should, as a straight-line function
of the file colour near the paint. It is fitted to differences from the paint, so nothing
absolute is asked of the camera.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from decaljobs.craft.arrays import Flags, Numbers
from decaljobs.craft.colour import ciede2000, lab_from_srgb

# Weight of a measured patch by its CIEDE2000 to the paint, and per round of age; tried, no source.
REACH = 8.0
FAR_WEIGHT = 0.02
AGEING = 0.5
# Pull of the slopes towards none, in patches of full weight; tried, no source.
RIDGE = 0.3
# File values are divided by this, so that slopes and offset are of like size.
FILE_STEP = 25.0
# A patch that departs so much from the model, CIELAB units and in spreads, is left out.
STRAY, STRAY_SPREADS = 5.0, 4.0
# What no photo shows: the camera sees ink and paint through other eyes than ours, CIEDE2000.
PHOTO_DOUBT = 1.0
FEWEST = 8
ROBUST_FITS = 8
# Patches of two rounds are close by each other below this CIEDE2000 of their file colours.
CLOSE_BY = 4.0


@dataclass(frozen=True)
class MeasuredRound:
    """A round as a photo measured it, untrusted patches left out.

    rgb: file colours (n, 3) from 0 to 255; differences: CIELAB less the paint's, (n, 3); paint:
    CIELAB of the paint in that photo, (3,).
    """

    rgb: Numbers
    differences: Numbers
    paint: Numbers


@dataclass(frozen=True)
class ColourFit:
    """A fitted model: predicts CIELAB differences from the paint for file colours.

    middle: the file colour (3,), 0 to 255, that steps are counted from; slopes: CIELAB, (4, 3);
    paint: CIELAB (3,); doubt: (4, 4), in squares of noise; noise: CIELAB units; strays: patches
    left out.
    """

    middle: Numbers
    slopes: Numbers
    paint: Numbers
    doubt: Numbers
    noise: float
    strays: int

    def difference(self, rgb: npt.ArrayLike) -> Numbers:
        """Predicted CIELAB less the paint's (..., 3) of file colours (..., 3), 0 to 255."""
        colours = np.asarray(rgb, dtype=np.float64)
        return lab_from_srgb(colours) + _terms(colours, self.middle) @ self.slopes

    def apart(self, rgb: npt.ArrayLike) -> Numbers:
        """Predicted CIEDE2000 to the paint (...) of file colours (..., 3), 0 to 255."""
        return ciede2000(self.paint + self.difference(rgb), self.paint)

    def uncertainty(self, rgb: npt.ArrayLike) -> float:
        """Standard error of the prediction at one file colour (3,), CIELAB units."""
        terms = _terms(np.asarray(rgb, dtype=np.float64), self.middle)
        return self.noise * float(np.sqrt(terms @ self.doubt @ terms))


def fit(rounds: Sequence[MeasuredRound]) -> ColourFit:
    """The model of one or more measured rounds, the newest last and weighing most.

    Patches that do not fit (a reflection) are left out. Raises ValueError if fewer than 8
    patches are there.

    >>> steps = np.arange(80.0, 141.0, 20.0)
    >>> rgb = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    >>> paint = lab_from_srgb([110, 110, 110])
    >>> printed = lab_from_srgb(rgb) - [2.0, 0.0, 0.0]  # by a printer that prints all a little dark
    >>> model = fit([MeasuredRound(rgb, printed - paint, paint)])
    >>> model.difference([110, 110, 110]).round(2).tolist()
    [-2.0, 0.0, 0.0]
    """
    rgb = np.vstack([one.rgb for one in rounds])
    wanted = np.vstack([one.differences for one in rounds]) - lab_from_srgb(rgb)
    weight = np.concatenate(
        [_weight(one) * AGEING**age for age, one in enumerate(reversed(rounds))][::-1]
    )
    if len(rgb) < FEWEST:
        raise ValueError(f"a model needs at least {FEWEST} measured patches, not {len(rgb)}")
    middle = weight @ rgb / weight.sum()
    terms = _terms(rgb, middle)
    kept = _fitting(terms, wanted)
    slopes, doubt = _ridge(terms[kept], wanted[kept], weight[kept])
    left = wanted[kept] - terms[kept] @ slopes
    noise = float(np.sqrt((weight[kept] @ left**2).mean() / weight[kept].sum()))
    return ColourFit(middle, slopes, rounds[-1].paint, doubt, noise, int((~kept).sum()))


def best_colour(model: ColourFit) -> tuple[Numbers, float]:
    """The file colour (3,), 0 to 255 and not rounded, predicted nearest the paint, and how near.

    Searched over the whole cube of file colours, first coarsely, then ever finer. How near is
    CIEDE2000.

    >>> steps = np.arange(80.0, 141.0, 20.0)
    >>> rgb = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    >>> paint = lab_from_srgb([110, 110, 110])
    >>> printed = lab_from_srgb(rgb) - [2.0, 0.0, 0.0]  # by a printer that prints all a little dark
    >>> best, apart = best_colour(fit([MeasuredRound(rgb, printed - paint, paint)]))
    >>> best.round().tolist(), apart < 0.1
    ([115.0, 115.0, 115.0], True)
    """
    steps = np.linspace(0.0, 255.0, 12)
    grid = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    best = grid[np.argmin(model.apart(grid))]
    around = np.stack(np.meshgrid(*[np.linspace(-1, 1, 5)] * 3), axis=-1).reshape(-1, 3)
    reach = 23.0
    while reach > 0.1:
        near = np.clip(best + reach * around, 0.0, 255.0)
        best = near[np.argmin(model.apart(near))]
        reach *= 0.6
    return best, float(model.apart(best))


def disagreement(rounds: Sequence[MeasuredRound]) -> float:
    """How far the newest photo departs from the rounds before, CIELAB units; 0 where unknown.

    Glare over the whole paint shifts every difference alike and shows only here. Only patches
    that have an older one close by are compared, so that the printer's curve does not count.

    >>> steps = np.arange(80.0, 141.0, 20.0)
    >>> rgb = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    >>> paint = lab_from_srgb([110, 110, 110])
    >>> older = MeasuredRound(rgb, lab_from_srgb(rgb) - paint, paint)
    >>> glare = MeasuredRound(rgb, older.differences - [5.0, 0.0, 0.0], paint)
    >>> round(disagreement([older, glare]), 2)
    5.0
    """
    if len(rounds) < 2:
        return 0.0
    newest, older = rounds[-1], np.vstack([one.rgb for one in rounds[:-1]])
    apart = ciede2000(lab_from_srgb(newest.rgb)[:, None], lab_from_srgb(older)[None])
    close = apart.min(axis=1) < CLOSE_BY
    if close.sum() < FEWEST:
        return 0.0
    off = newest.differences[close] - fit(rounds[:-1]).difference(newest.rgb[close])
    return float(np.linalg.norm(np.median(off, axis=0)))


def _weight(one: MeasuredRound) -> Numbers:
    apart = ciede2000(one.paint + one.differences, one.paint)
    return np.exp(-((apart / REACH) ** 2) / 2) + FAR_WEIGHT


def _terms(rgb: Numbers, middle: Numbers) -> Numbers:
    steps = (rgb - middle) / FILE_STEP
    return np.concatenate([np.ones((*steps.shape[:-1], 1)), steps], axis=-1)


def _ridge(terms: Numbers, wanted: Numbers, weight: Numbers) -> tuple[Numbers, Numbers]:
    pull = np.diag([0.0, RIDGE, RIDGE, RIDGE])
    square = terms.T @ (weight[:, None] * terms) + pull
    doubt = np.asarray(np.linalg.inv(square), dtype=np.float64)
    return doubt @ terms.T @ (weight[:, None] * wanted), doubt


def _fitting(terms: Numbers, wanted: Numbers) -> Flags:
    """Patches that follow a straight line drawn through most of them.

    Nearness to the paint is left out here, for a reflection can make a patch look like the paint.
    """
    trust = np.ones(len(terms))
    for _ in range(ROBUST_FITS):
        slopes, _ = _ridge(terms, wanted, trust)
        off = np.linalg.norm(wanted - terms @ slopes, axis=1)
        usual = max(float(np.median(off)), 1e-6)
        trust = 1.0 / np.maximum(1.0, off / usual) ** 2
    return off <= max(STRAY, STRAY_SPREADS * usual)
