"""Whether a paint lies outside what the printer reaches, told from the maker's eye alone.

Many places where the paint may lie are tried, inside the gamut and out of it. Each is weighed by
how well it explains which patches were picked and what words were said, in all rounds; what is
asked is how much of the weight lies outside.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import logsumexp, ndtr

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.colour import Colour, Lab, ciede2000, lab_from_srgb, srgb_from_lab
from decaljobs.craft.trial.eye import WORDS, EyeAnswer, mean_pick
from decaljobs.craft.trial.rounds import ball_axes, ball_points

# How many places are tried, how far from the last picks, and the distance within which two thirds
# of a ball's paints lie before anything is asked; weighted CIELAB units; tried, no source.
PLACES = 1200
FARTHEST = 30.0
USUAL = 12.0
# An eye ranks distances unsteadily: a spread of their logarithm, and below this it sees no
# difference, weighted CIELAB units; common practice, no source.
RANK_SPREAD, UNSEEN = 0.3, 0.7
# A word is wrong so often; a fault is named from this size on, give or take; tried, no source.
WRONG_WORD, NOTICED, NOTICE_SPREAD = 0.2, 1.0, 0.6
# How much the last round, the one before and older ones count: printers bend wide rounds more.
AGE_WEIGHTS = (1.0, 0.7, 0.4)
# A paint counts as beyond the gamut if so far outside it, CIEDE2000.
BEYOND = 1.0
# How plain a fault must be on each axis of the words to be named first; hue and chroma are seen
# less readily than lightness; tried, no source.
PLAINNESS = np.array([1.0, 0.8, 0.8, 0.6])
# No answer is taken as impossible.
SLIP = 0.02


@dataclass(frozen=True)
class JudgedRound:
    """A round judged by eye: its middle (CIELAB), sRGB colours, and the answer."""

    centre: Lab
    colours: tuple[Colour, ...]
    answer: EyeAnswer


def chance_beyond(rounds: Sequence[JudgedRound]) -> float:
    """The chance, 0 to 1, that the paint lies outside the gamut by more than 1 CIEDE2000.

    rounds: printed with the same settings, oldest first. Raises ValueError without rounds.
    Source: Bayes' rule over a fixed set of places; ranks as in R. L. Plackett, 'The analysis of
    permutations', 1975.

    >>> greys = tuple((grey, grey, grey) for grey in range(90, 130))
    >>> chance_beyond([JudgedRound((43.0, 0.0, 0.0), greys, EyeAnswer((12, 11, 13)))]) < 0.01
    True
    """
    if not rounds:
        raise ValueError("at least one judged round is needed")
    last = rounds[-1]
    places, weight = _places_round(mean_pick(last.colours, last.answer))
    for age, one in enumerate(reversed(rounds)):
        share = AGE_WEIGHTS[min(age, len(AGE_WEIGHTS) - 1)]
        weight = weight + share * (_picks_fit(one, places) + _words_fit(one, places))
    chance = np.exp(weight - logsumexp(weight))
    inside = lab_from_srgb(srgb_from_lab(places)[0])
    return float(chance[ciede2000(places, inside) > BEYOND].sum())


def _places_round(middle: Numbers) -> tuple[Numbers, Numbers]:
    """Places (n, 3) round a CIELAB colour, denser near it, and the logarithm of their weights."""
    ball = ball_points(PLACES)
    far = np.linalg.norm(ball, axis=1)
    # ball_points has its radius as a square root; squared, as many places lie at each distance.
    places = middle + FARTHEST * (ball * far[:, None]) @ ball_axes(middle)
    away = FARTHEST * far**2
    return places, 2 * np.log(np.maximum(away, 0.05)) - (away / USUAL) ** 2 / 2


def _picks_fit(one: JudgedRound, places: Numbers) -> Numbers:
    """Logarithm of the chance of these picks, in this order, for a paint at each place."""
    straight = np.linalg.inv(ball_axes(one.centre))
    patches = lab_from_srgb(np.array(one.colours, dtype=float)) @ straight
    there = places @ straight
    square = (there**2).sum(1)[:, None] + (patches**2).sum(1) - 2 * there @ patches.T
    liking = -np.log(np.sqrt(np.maximum(square, 0.0)) + UNSEEN) / RANK_SPREAD
    left = np.ones(len(patches), dtype=bool)
    fit = np.zeros(len(places))
    for pick in one.answer.picks:
        fit += liking[:, pick - 1] - logsumexp(liking[:, left], axis=1)
        left[pick - 1] = False
    return fit


def _words_fit(one: JudgedRound, places: Numbers) -> Numbers:
    """Logarithm of the chance of these words about the best patch for a paint at each place."""
    best = lab_from_srgb(one.colours[one.answer.picks[0] - 1])
    off = best - places
    stronger = np.hypot(best[1], best[2]) - np.hypot(places[:, 1], places[:, 2])
    faults = PLAINNESS * np.column_stack([off, stronger])
    plainest = np.sort(np.abs(faults), axis=1)[:, ::-1]
    fit = np.zeros(len(places))
    for number in range(2):
        named = 1 if number < len(one.answer.off) else -1
        fit += np.log(SLIP + ndtr(named * (plainest[:, number] - NOTICED) / NOTICE_SPREAD))
    for word in one.answer.off:
        axis, sign = WORDS[word]
        size = faults[:, axis]
        fit += np.log(WRONG_WORD + ndtr(sign * size / NOTICE_SPREAD))
        fit += np.log(SLIP + ndtr((np.abs(size) - plainest[:, 1] + UNSEEN) / NOTICE_SPREAD))
    return fit
