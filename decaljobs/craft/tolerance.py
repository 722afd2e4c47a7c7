"""The chance that a cut made by hand comes out clean, and the band that makes it likely."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from functools import cache

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtri

from decaljobs.craft.knife.cutruns import Piece
from decaljobs.craft.knife.hand import Hand
from decaljobs.craft.knife.wander import CUTS, chance_within

# the chance that is aimed at
WANTED_CHANCE = 0.95
# mm; bands are looked for up to this width
WIDEST_BAND = 20.0
# spreads of knife and laying together; about the band that most art needs
GUESS = 5.0
# mm; how exactly a width is found
FINENESS = 0.002
# pieces; of more than these, some stand for those like them where widths are looked for
MANY_PIECES = 24
# of more kinds of piece than these, fewer cuts of each are tried: their errors even out
FEW_KINDS, FEWER_CUTS = 6, 1024


def clean_chance(pieces: Sequence[Piece], hand: Hand | None = None) -> float:
    """Chance from 0 to 1 that no piece shows a white rim or leaves light art without white.

    Each piece is the rings of one piece of base film, laid down together. The knife's error c is
    Gaussian (σc) with a squared-exponential correlation along the line (ℓ = 4 mm), for each
    closed line by itself; the lay-down shift d is Gaussian (σr) in x and y. With the outward
    normal n the cut strays by X(s) = c(s) + n(s)·d, Gaussian with the spread σ = √(σc² + σr²)
    at every place, and is clean as long as −inward(s) < X(s) < outward(s) at all places s,
    0.25 mm apart, all the way round:

        P = 1 − Σ p(s) · E[ 1 / N | X fails at s ],
        p(s) = Φ(−outward(s)/σ) + Φ(−inward(s)/σ),

    where s is picked in proportion to p(s), X drawn such that it fails there, and N is the
    number of places at which it then fails. Nothing is left out for crossings that come in
    clumps. Where P is under 0.75 it is taken over directions u of the random numbers instead,
    m in all, the first two those of d and the others those of the waves that c is made of:

        P = E[ F(R(u)²) ],   F the chi-squared distribution of m degrees of freedom,

    with R(u) how far u can be followed before some place fails. Both means are over 4096 cuts of
    a Latin hypercube, the same ones each time, 1024 where there are more than six kinds of piece.
    Sources: A. B. Owen, Y. Maximov and M. Chertkov, Importance sampling the union of rare events,
    Electronic Journal of Statistics 13, 2019; for random fields R. J. Adler, J. H. Blanchet and
    J. Liu, Annals of Applied Probability 22, 2012; directions: I. Deák, Three digit accurate
    multiple normal probabilities, Numerische Mathematik 35, 1980; waves of a periodic process:
    C. R. Dietrich and G. N. Newsam, SIAM Journal on Scientific Computing 18, 1997 (all from
    memory). Against simulated cuts within 0.02 where the chance is 0.7 or more, on discs,
    rectangles, stars, letters and waves of every length. Turning the piece is left out.

    >>> from decaljobs.craft.knife.cutruns import cut_run
    >>> turn = np.linspace(0, 2 * np.pi, 30, endpoint=False)
    >>> ring, room = np.column_stack([np.cos(turn), np.sin(turn)]), np.full(30, 0.5)
    >>> dot = [cut_run(ring, room, room, step_mm=0.8)]
    >>> one, two = clean_chance([dot]), clean_chance([dot, list(dot)])
    >>> round(one, 2), round(two, 2)
    (0.92, 0.85)
    """
    return _all_clean(_counted(pieces), hand or Hand())


def band_for(
    pieces: Sequence[Piece], hand: Hand | None = None, chance: float = WANTED_CHANCE
) -> float:
    """Width in mm of an even band round the same pieces that gives this chance (0.5 to 0.999).

    Never more than 20 mm. Raises ValueError for a chance outside that range.

    >>> from decaljobs.craft.knife.cutruns import cut_run
    >>> turn = np.linspace(0, 2 * np.pi, 30, endpoint=False)
    >>> ring, room = np.column_stack([np.cos(turn), np.sin(turn)]), np.full(30, 0.3)
    >>> disc = cut_run(ring, room, room, step_mm=0.8)
    >>> steady, shaky = (band_for([[disc]], Hand(spread, spread)) for spread in (0.1, 0.2))
    >>> round(shaky / steady, 1)
    2.0
    """
    hand = hand or Hand()
    counted = _typical(pieces, lambda piece: sum(float(ring.length.sum()) for ring in piece))

    def chance_at(width: float) -> float:
        even = [([ring.with_band(width) for ring in piece], n) for piece, n in counted]
        return _all_clean(even, hand)

    return _least(chance_at, chance, GUESS * math.hypot(hand.knife_mm, hand.lay_down_mm))


def widening_for(
    pieces: Sequence[Piece], hand: Hand | None = None, chance: float = WANTED_CHANCE
) -> float:
    """How much wider in mm the band has to be for this chance (0.5 to 0.999); 0 if it is wide.

    Never more than 20 mm. Raises ValueError for a chance outside that range.

    >>> from decaljobs.craft.knife.cutruns import cut_run
    >>> turn = np.linspace(0, 2 * np.pi, 30, endpoint=False)
    >>> ring = np.column_stack([np.cos(turn), np.sin(turn)])
    >>> narrow, wide = (
    ...     cut_run(ring, np.full(30, room), np.full(30, room), step_mm=0.8) for room in (0.3, 3.0))
    >>> widening_for([[wide]]), round(widening_for([[narrow]]), 1)
    (0.0, 0.5)
    """
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
    cuts = CUTS if len(counted) <= FEW_KINDS else FEWER_CUTS
    return float(np.prod([chance_within(piece, hand, cuts) ** n for piece, n in counted]))


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
