"""The chance that a cut made by hand comes out clean, and the band that makes it likely."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from functools import cache

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq
from scipy.special import ndtri

from decaljobs.craft.crossings import chance_within
from decaljobs.craft.cutruns import CutRun, Piece
from decaljobs.craft.hand import Hand
from decaljobs.craft.outlines import Lengths

# the chance that is aimed at
WANTED_CHANCE = 0.95
# mm; bands are looked for up to this width
WIDEST_BAND = 20.0
# spreads of knife and laying together; about the band that most art needs
GUESS = 5.0
# mm; how exactly a width is found
FINENESS = 0.002
# nodes per axis of the Gauss-Hermite rule over the lay-down shift: as many do while the laying
# strays no more than the knife; the more it strays, the steeper the chance falls with the shift
NODES, MORE_NODES, MOST_NODES = 9, 4, 24
# nodes less likely than this cost as much as any other and do not matter
UNLIKELY = 1e-5
# pieces; of more than these, some stand for those like them where widths are looked for
MANY_PIECES = 24


def clean_chance(pieces: Sequence[Piece], hand: Hand | None = None) -> float:
    """Chance from 0 to 1 that no piece shows a white rim or leaves light art without white.

    Each piece is the rings of one piece of base film, laid down together. The knife's error is
    Gaussian (σ) with a squared-exponential correlation along the line (ℓ = 4 mm); the lay-down
    shift d is Gaussian in x and y. With a = outward − n·d and b = inward + n·d the line is
    clean as long as the error c stays between −b and a all the way round. The rate at which it
    crosses a limit that itself moves along the line gives

        P = E_d [ p(start) · exp( −∮ (r(a) κ(a) + r(b) κ(b)) / p ds ) ],
        p = Φ(a/σ) + Φ(b/σ) − 1,
        r(u) = φ(u/σ) · (φ(x) − x·Φ(−x)) / ℓ,   x = ℓ·u′(s)/σ,

    starting where p is largest, with E_d by Gauss-Hermite quadrature. Crossings come in clumps:
    where the band is narrow at every wave of an edge, a knife that strays at one strays at the
    next. So only those count before which the line was clean: with t a place passed already,
    0.25 to 1.5 ℓ back, or the beginning, to which a closed line returns,

        κ(s) = min P(clean at t | crossing at s) / P(clean at t | clean at s),

    times the largest such ratio above 1. c(t) given c(s) and c′(s) is Gaussian; given a clean or
    crossing s it is taken for Gaussian with the mean and variance that it has.
    Sources: S. O. Rice, Mathematical Analysis of Random Noise, Bell System Technical Journal
    24, 1945, section 3.3; for a moving limit H. Cramér and M. R. Leadbetter, Stationary and
    Related Stochastic Processes, 1967, section 13.2; that crossings from a clean run alone count,
    E. H. Vanmarcke, Journal of Applied Mechanics 42, 1975 (all from memory). The ratio and
    its extremes over t are ours, tested by simulation: within 0.02 where the chance is 0.7 or
    more, on discs, rectangles, stars, letters and waves from 3 mm. Deep waves of 2.5 mm come
    out up to 0.025 too low. Turning the piece is left out.
    """
    return _all_clean(_counted(pieces), hand or Hand())


def band_for(
    pieces: Sequence[Piece], hand: Hand | None = None, chance: float = WANTED_CHANCE
) -> float:
    """Width in mm of an even band round the same pieces that gives this chance (0.5 to 0.999)."""
    hand = hand or Hand()
    counted = _typical(pieces, lambda piece: sum(float(ring.length.sum()) for ring in piece))

    def chance_at(width: float) -> float:
        even = [([ring.with_band(width) for ring in piece], n) for piece, n in counted]
        return _all_clean(even, hand)

    return _least(chance_at, chance, GUESS * math.hypot(hand.knife_mm, hand.lay_down_mm))


def widening_for(
    pieces: Sequence[Piece], hand: Hand | None = None, chance: float = WANTED_CHANCE
) -> float:
    """How much wider in mm the band has to be for this chance (0.5 to 0.999); 0 if it is wide."""
    hand = hand or Hand()
    counted = _typical(pieces, lambda piece: _difficulty(piece, hand))

    def chance_at(by: float) -> float:
        wide = [([ring.widened(by) for ring in piece], n) for piece, n in counted]
        return _all_clean(wide, hand)

    return _least(chance_at, chance, GUESS * math.hypot(hand.knife_mm, hand.lay_down_mm))


def _difficulty(piece: Piece, hand: Hand) -> float:
    """What pieces are sorted by: length of line, counting the more the less room it has."""
    spread = math.hypot(hand.knife_mm, hand.lay_down_mm)
    rooms = [np.minimum(ring.outward, ring.inward) / spread for ring in piece]
    return sum(
        float(ring.length @ np.exp(-(room**2) / 2)) for ring, room in zip(piece, rooms, strict=True)
    )


def _counted(pieces: Sequence[Piece]) -> list[tuple[Piece, int]]:
    """Each piece with its number: those of copies of one marking are the same runs."""
    number = Counter(id(piece) for piece in pieces)
    return [(piece, number[key]) for key, piece in {id(piece): piece for piece in pieces}.items()]


def _typical(pieces: Sequence[Piece], by: Callable[[Piece], float]) -> list[tuple[Piece, int]]:
    """All pieces, or of many kinds the middle one of each group with the group's number."""
    counted = sorted(_counted(pieces), key=lambda one: by(one[0]))
    if len(counted) <= MANY_PIECES:
        return counted
    groups = np.array_split(np.arange(len(counted)), MANY_PIECES)
    return [
        (counted[group[len(group) // 2]][0], sum(counted[one][1] for one in group))
        for group in groups
    ]


def _all_clean(counted: Sequence[tuple[Piece, int]], hand: Hand) -> float:
    shifts, chance = _shifts(hand)
    powers = [_piece_chance(piece, shifts, chance, hand.knife_mm) ** n for piece, n in counted]
    return float(np.prod(powers))


def _shifts(hand: Hand) -> tuple[npt.NDArray[np.float64], Lengths]:
    """Lay-down shifts in mm (2, n) and the chance of each."""
    steep = max(0.0, hand.lay_down_mm / hand.knife_mm - 1)
    nodes, weights = _rule(min(NODES + round(MORE_NODES * steep), MOST_NODES))
    x, y = (axis.ravel() * hand.lay_down_mm for axis in np.meshgrid(nodes, nodes))
    chance = np.outer(weights, weights).ravel()
    likely = chance > UNLIKELY * chance.sum()
    return np.vstack([x, y])[:, likely], chance[likely] / chance[likely].sum()


@cache
def _rule(count: int) -> tuple[Lengths, Lengths]:
    nodes, weights = np.polynomial.hermite_e.hermegauss(count)
    return nodes, weights


def _piece_chance(
    rings: Sequence[CutRun], shifts: npt.NDArray[np.float64], chance: Lengths, sigma: float
) -> float:
    for ring in rings:
        chance = chance * chance_within(ring, shifts, sigma)
    return float(np.clip(chance.sum(), 0.0, 1.0))


def _least(chance_at: Callable[[float], float], wanted: float, guess: float) -> float:
    """Least width in mm with the wanted chance."""
    if not 0.5 <= wanted <= 0.999:
        raise ValueError("a wanted chance lies from 0.5 to 0.999")

    @cache
    def short(width: float) -> float:
        # on the probit scale a chance grows nearly evenly with the width
        return float(ndtri(wanted) - ndtri(np.clip(chance_at(width), 1e-12, 1 - 1e-12)))

    if short(0.0) <= 0:
        return 0.0
    high = guess
    while short(high) > 0:
        if high >= WIDEST_BAND:
            return WIDEST_BAND
        high *= 1.5
    low = high / 1.5
    while short(low) <= 0:
        low, high = low / 1.5, low
    return float(brentq(short, low, high, xtol=FINENESS))
