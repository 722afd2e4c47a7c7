"""The chance that a cut made by hand comes out clean, and the band that makes it likely."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq
from scipy.special import ndtr, ndtri

from decaljobs.craft.hand import Hand
from decaljobs.craft.outlines import Lengths, Points

# mm along the edge over which a wandering knife forgets where it was: from memory
WANDER = 4.0
# the chance that is aimed at
WANTED_CHANCE = 0.95
# mm; bands are looked for up to this width
WIDEST_BAND = 20.0
# nodes per axis of the Gauss-Hermite rule over the lay-down shift; fewer do on a full sheet
NODES, FEWER_NODES, MANY_PIECES = 20, 12, 24
UNLIKELY = 1e-7
# mm along the line between the places that are summed, and how many of them do
STEP, MOST_PLACES = 0.25, 600
ROOT_TWO_PI = float(np.sqrt(2 * np.pi))


@dataclass(frozen=True, eq=False)
class CutRun:
    """One closed line of the knife, in places along it: what matters for its chance.

    Room in mm outwards to the art's edge and inwards to the light, the outward normal (n, 2)
    and the length of line in mm that each place stands for.
    """

    outward: Lengths
    inward: Lengths
    normal: Points
    length: Lengths

    def with_band(self, width_mm: float) -> CutRun:
        """The same line midway in an even band of this width."""
        half = np.full(len(self.length), width_mm / 2)
        return CutRun(half, half, self.normal, self.length)

    def widened(self, by_mm: float) -> CutRun:
        """The same line after the band has been widened and the line moved midway again."""
        # where light art touched the edge the line ran inside it; now it can run midway
        touching = self.inward <= 0
        middle = np.maximum((self.outward + self.inward) / 2, 0.0)
        outward = np.where(touching, middle, self.outward) + by_mm / 2
        inward = np.where(touching, middle, self.inward) + by_mm / 2
        return CutRun(outward, inward, self.normal, self.length)


Piece = Sequence[CutRun]


def cut_run(ring: Points, outward: Lengths, inward: Lengths, step_mm: float = STEP) -> CutRun:
    """Places along a closed ring (first point not repeated) with its room on both sides, mm.

    About `step_mm` apart; each takes the mean room of its stretch.
    """
    stretch = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    count = min(max(8, round(float(stretch.sum()) / step_mm)), MOST_PLACES)
    along = np.cumsum(stretch) - stretch / 2
    places = np.minimum((along / stretch.sum() * count).astype(int), count - 1)
    weight = np.maximum(np.bincount(places, stretch, count), 1e-12)
    tangent = np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)
    normal = np.column_stack([tangent[:, 1], -tangent[:, 0]]) * np.sign(_area(ring))
    means = [
        np.bincount(places, stretch * value, count) / weight
        for value in (outward, inward, normal[:, 0], normal[:, 1])
    ]
    direction = np.column_stack(means[2:])
    direction /= np.maximum(np.hypot(*direction.T), 1e-12)[:, None]
    return CutRun(means[0], means[1], direction, weight)


def clean_chance(pieces: Sequence[Piece], hand: Hand | None = None) -> float:
    """Chance from 0 to 1 that no piece shows a white rim or leaves light art without white.

    Each piece is the rings of one piece of base film, laid down together. The knife's error is
    Gaussian (σ) with a squared-exponential correlation along the line (ℓ = 4 mm); the lay-down
    shift d is Gaussian in x and y. With a = outward − n·d and b = inward + n·d the line is
    clean as long as the error stays between −b and a all the way round. The rate at which it
    crosses a limit that itself moves along the line gives

        P = E_d [ p(start) · exp( −∮ (r(a) + r(b)) / p ds ) ],   p = Φ(a/σ) + Φ(b/σ) − 1,
        r(u) = φ(u/σ) · (φ(x) − x·Φ(−x)) / ℓ,   x = ℓ·u′(s)/σ,

    starting where p is largest, with E_d by Gauss-Hermite quadrature.
    Sources: S. O. Rice, Mathematical Analysis of Random Noise, Bell System Technical Journal
    24, 1945, section 3.3; for a moving limit H. Cramér and M. R. Leadbetter, Stationary and
    Related Stochastic Processes, 1967, section 13.2 (from memory).
    Within 0.02 of a simulation where the chance is 0.7 or more, on discs, rectangles, stars and
    letters; up to 0.04 too low on an edge with many waves a few millimetres long. Turning the
    piece is left out.
    """
    return _all_clean([(piece, 1) for piece in pieces], hand or Hand())


def band_for(
    pieces: Sequence[Piece], hand: Hand | None = None, chance: float = WANTED_CHANCE
) -> float:
    """Width in mm of an even band round the same pieces that gives this chance (0.5 to 0.999)."""
    counted = _typical(pieces, lambda piece: sum(float(ring.length.sum()) for ring in piece))

    def chance_at(width: float) -> float:
        even = [([ring.with_band(width) for ring in piece], n) for piece, n in counted]
        return _all_clean(even, hand or Hand())

    return _least(chance_at, chance)


def widening_for(
    pieces: Sequence[Piece], hand: Hand | None = None, chance: float = WANTED_CHANCE
) -> float:
    """How much wider in mm the band has to be for this chance (0.5 to 0.999); 0 if it is wide."""
    counted = _typical(pieces, lambda piece: _difficulty(piece, hand or Hand()))

    def chance_at(by: float) -> float:
        wide = [([ring.widened(by) for ring in piece], n) for piece, n in counted]
        return _all_clean(wide, hand or Hand())

    return _least(chance_at, chance)


def _difficulty(piece: Piece, hand: Hand) -> float:
    """What pieces are sorted by: length of line, counting the more the less room it has."""
    spread = math.hypot(hand.knife_mm, hand.lay_down_mm)
    rooms = [np.minimum(ring.outward, ring.inward) / spread for ring in piece]
    return sum(
        float(ring.length @ np.exp(-(room**2) / 2)) for ring, room in zip(piece, rooms, strict=True)
    )


def _typical(pieces: Sequence[Piece], by: Callable[[Piece], float]) -> list[tuple[Piece, int]]:
    """All pieces once, or of many, sorted, the middle one of each group with its number."""
    if len(pieces) <= MANY_PIECES:
        return [(piece, 1) for piece in pieces]
    groups = np.array_split(np.arange(len(pieces)), MANY_PIECES)
    ordered = sorted(pieces, key=by)
    return [(ordered[group[len(group) // 2]], len(group)) for group in groups]


def _all_clean(counted: Sequence[tuple[Piece, int]], hand: Hand) -> float:
    shifts, chance = _shifts(hand, NODES if len(counted) < MANY_PIECES else FEWER_NODES)
    powers = [_piece_chance(piece, shifts, chance, hand.knife_mm) ** n for piece, n in counted]
    return float(np.prod(powers))


def _area(ring: Points) -> float:
    x, y = ring.T
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())


def _shifts(hand: Hand, count: int) -> tuple[npt.NDArray[np.float64], Lengths]:
    """Lay-down shifts in mm (2, n) and the chance of each."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(count)
    x, y = (axis.ravel() * hand.lay_down_mm for axis in np.meshgrid(nodes, nodes))
    chance = np.outer(weights, weights).ravel() / weights.sum() ** 2
    # shifts too unlikely to matter would cost as much as any other
    likely = chance > UNLIKELY
    return np.vstack([x, y])[:, likely], chance[likely]


def _piece_chance(
    rings: Sequence[CutRun], shifts: npt.NDArray[np.float64], chance: Lengths, sigma: float
) -> float:
    for ring in rings:
        chance = chance * _ring_chance(ring, shifts, sigma)
    return float(np.clip(chance.sum(), 0.0, 1.0))


def _ring_chance(ring: CutRun, shifts: npt.NDArray[np.float64], sigma: float) -> Lengths:
    """Chance that one ring is clean, for each lay-down shift."""
    outwards = ring.normal @ shifts
    a = (ring.outward[:, None] - outwards) / sigma
    b = (ring.inward[:, None] + outwards) / sigma
    within = np.clip(ndtr(a) + ndtr(b) - 1, 1e-9, 1)
    step = float(ring.length.mean())
    leaving = (_crossings(a, step) + _crossings(b, step)) / within
    return within.max(axis=0) * np.exp(-(ring.length @ leaving))


def _crossings(limit: npt.NDArray[np.float64], step: float) -> npt.NDArray[np.float64]:
    """Crossings per mm out over a limit (places, shifts) given in knife spreads."""
    slope = (np.roll(limit, -1, axis=0) - np.roll(limit, 1, axis=0)) / (2 * step)
    x = WANDER * slope
    outward_speed = np.exp(-x * x / 2) / ROOT_TWO_PI - x * ndtr(-x)
    return np.exp(-limit * limit / 2) / ROOT_TWO_PI * outward_speed / WANDER


def _least(chance_at: Callable[[float], float], wanted: float) -> float:
    """Least width in mm with the wanted chance."""
    if not 0.5 <= wanted <= 0.999:
        raise ValueError("a wanted chance lies from 0.5 to 0.999")

    def short(width: float) -> float:
        # on the probit scale a chance grows nearly evenly with the width
        return float(ndtri(wanted) - ndtri(np.clip(chance_at(width), 1e-12, 1 - 1e-12)))

    if short(0.0) <= 0:
        return 0.0
    high = 0.5
    while short(high) > 0:
        if high >= WIDEST_BAND:
            return WIDEST_BAND
        high *= 2
    return float(brentq(short, high / 2 if high > 0.5 else 0.0, high, xtol=0.001))
