"""A round judged by eye: the best three patches, and in words how the best is off."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.colour import Colour, Lab, lab_from_srgb, plain_lab, srgb_from_lab
from decaljobs.craft.trial.rounds import ball_axes, share_of_ball

# Weights of the best, second and third pick; common practice, no source.
PICK_WEIGHTS = (0.5, 0.3, 0.2)
# How far a word moves the centre, as a share of the round's radius; tried, no source.
WORD_STEP = 0.15

# What a word says about the best patch beside the paint: axis (0 lightness, 1 red-green,
# 2 yellow-blue, 3 chroma) and direction.
WORDS = {
    "lighter": (0, 1),
    "darker": (0, -1),
    "redder": (1, 1),
    "greener": (1, -1),
    "yellower": (2, 1),
    "bluer": (2, -1),
    "stronger": (3, 1),
    "weaker": (3, -1),
}
MOST_WORDS = 2

# Expected difference after a round by eye, CIEDE2000: a part that stays and a share of the
# radius (read from simulated trials, see the benchmark).
EYE_DOUBT = 0.3
EYE_SHARE = 0.25


@dataclass(frozen=True)
class EyeAnswer:
    """The numbers of the best three patches, best first, and how the best differs from the paint.

    off: at most two of the words in WORDS, about the patch: 'lighter' is a patch that is lighter
    than the paint. Raises ValueError for picks that are not three different numbers and for
    words that are unknown, repeated, too many or contradict each other.

    >>> EyeAnswer((7, 12, 31), ("lighter",)).picks
    (7, 12, 31)
    """

    picks: tuple[int, ...]
    off: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if len(self.picks) != len(PICK_WEIGHTS):
            raise ValueError(f"name the best three patches, not {len(self.picks)}")
        if len(set(self.picks)) != len(self.picks):
            raise ValueError("name three different patches")
        _check_words(self.off)


@dataclass(frozen=True)
class EyeCentre:
    """Where the answer points: CIELAB inside the gamut.

    far: distance from the round's middle as a share of its radius.
    """

    lab: Lab
    far: float


def centre_by_eye(
    colours: Sequence[Colour], centre: npt.ArrayLike, radius: float, answer: EyeAnswer
) -> EyeCentre:
    """The new centre (CIELAB) of a round from the maker's picks and words.

    colours: sRGB 0 to 255 of patches 1, 2, 3 ...; centre (3,) and radius are the round's.
    Raises ValueError for a pick that the round does not have. Source: common practice.

    >>> grey = [(100, 100, 100), (110, 110, 110), (120, 120, 120), (130, 130, 130)]
    >>> middle = centre_by_eye(grey, [45.0, 0, 0], 6.0, EyeAnswer((2, 3, 1), ("darker",)))
    >>> round(middle.lab[0], 2)
    47.75
    """
    mean = mean_pick(colours, answer)
    far = share_of_ball(mean - np.asarray(centre, dtype=np.float64), centre, radius)
    asked = mean + WORD_STEP * radius * _correction(answer.off, mean)
    return EyeCentre(plain_lab(_inside(asked)), far)


def mean_pick(colours: Sequence[Colour], answer: EyeAnswer) -> Numbers:
    """CIELAB (3,) of the three picks, the best weighing most.

    colours: sRGB 0 to 255 of patches 1, 2, 3 ... Raises ValueError for a pick that the round
    does not have. Source: common practice.

    >>> greys = [(100, 100, 100), (100, 100, 100), (100, 100, 100)]
    >>> mean_pick(greys, EyeAnswer((1, 2, 3))).round(2).tolist()
    [42.37, 0.0, 0.0]
    """
    for pick in answer.picks:
        if not 1 <= pick <= len(colours):
            raise ValueError(f"this round has patches 1 to {len(colours)}, not {pick}")
    labs = lab_from_srgb([colours[pick - 1] for pick in answer.picks])
    return np.asarray(PICK_WEIGHTS) @ labs


def expected_by_eye(radius: float, far: float) -> float:
    """Expected difference, CIEDE2000, after a round of this radius judged by eye.

    far: share of the radius at which the picks lay; at the rim the best may lie outside.
    Source: simulated trials of the benchmark.

    >>> expected_by_eye(3.0, 0.2), expected_by_eye(14.0, 0.2)
    (1.05, 3.8)
    """
    return EYE_DOUBT + EYE_SHARE * radius * (1 + 2 * max(0.0, far - 0.6))


def _inside(lab: Numbers) -> Numbers:
    rgb, _ = srgb_from_lab(lab)
    return lab_from_srgb(rgb)


def _check_words(words: Sequence[str]) -> None:
    if len(words) > MOST_WORDS:
        raise ValueError(f"say how it is off in at most {MOST_WORDS} words")
    for word in words:
        if word not in WORDS:
            raise ValueError(f"'{word}' is not one of {', '.join(WORDS)}")
    axes = [WORDS[word][0] for word in words]
    if len(set(words)) != len(words):
        raise ValueError("the two words are the same")
    if len(set(axes)) != len(axes):
        raise ValueError(f"{' and '.join(words)} contradict each other")


def _correction(words: Sequence[str], lab: Numbers) -> Numbers:
    """A move against the named faults, CIELAB, one weighted unit long in all."""
    move = np.zeros(3)
    for word in words:
        axis, sign = WORDS[word]
        step = _direction(axis, lab)
        weighted = np.linalg.solve(ball_axes(lab).T, step)
        move -= sign * step / np.linalg.norm(weighted)
    return move / np.sqrt(max(len(words), 1))


def _direction(axis: int, lab: Numbers) -> Numbers:
    if axis < 3:
        return np.eye(3)[axis]
    # A grey has no direction in which to grow stronger; red stands in for it.
    chroma = float(np.hypot(lab[1], lab[2]))
    return np.array([0.0, lab[1], lab[2]]) / chroma if chroma > 1e-6 else np.eye(3)[1]
