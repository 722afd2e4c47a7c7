"""The patches of a round: a ball of colours around the predicted best, inside the gamut."""

import numpy as np
import numpy.typing as npt

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.colour import Colour, ciede2000_steps, lab_from_srgb, plain_lab, srgb_from_lab

# Radii of the first, second and third round in weighted CIELAB units; common practice, no source.
RADII = (14.0, 6.0, 3.0)
# Printers miss the lightness more than the hue, so the first ball is taller; tried, no source.
FIRST_STRETCH = 1.5
# An answer further out than RIM (share of the radius) keeps the next ball at RIM_KEEPS of this
# one; no ball shrinks below LEAST_SHARE of the one before. Tried, no source.
RIM, RIM_KEEPS, LEAST_SHARE = 0.7, 0.8, 0.42
PAPER_PATCHES = 40
FILM_PATCHES = 24

# Golden ratio of three dimensions, the real root of x^4 = x + 1: M. Roberts, 'The unreasonable
# effectiveness of quasirandom sequences', 2018.
ROBERTS_ROOT = 1.2207440846057596

# A gamut corner leaves so few free colours that the ball is widened by this factor and tried again.
WIDENING = 1.25
CANDIDATES = 1000


def ball_axes(lab: npt.ArrayLike, stretch: float = 1.0) -> Numbers:
    """The three axes of the ball (rows, CIELAB units): lightness, chroma, hue.

    Each is as long as one step that CIEDE2000 calls 1: the weights SL, SC and SH, the last
    without its tone term. Lightness is stretched by a factor above 0. Takes one CIELAB colour,
    shape (3,). Source: CIE 142-2001 by Sharma, Wu and Dalal, 2005.

    >>> ball_axes([50.0, 0.0, 0.0]).tolist()
    [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]
    """
    light, a, b = plain_lab(lab)
    chroma = float(np.hypot(a, b))
    red, yellow = (a / chroma, b / chroma) if chroma > 1e-9 else (1.0, 0.0)
    lightness, saturation, tone = ciede2000_steps(light, chroma)
    return np.array(
        [
            [stretch * lightness, 0.0, 0.0],
            [0.0, red * saturation, yellow * saturation],
            [0.0, 0.0 - yellow * tone, red * tone],
        ]
    )


def ball_points(count: int) -> Numbers:
    """Points of the unit ball, a little denser inwards, its middle first, (count, 3), no unit.

    Raises ValueError unless count is at least 1. Source: the R3 sequence of M. Roberts, 2018.

    >>> ball_points(3).shape
    (3, 3)
    """
    if count < 1:
        raise ValueError(f"a round has at least 1 patch, not {count}")
    steps = 1.0 / ROBERTS_ROOT ** np.arange(1, 4)
    share = (0.5 + np.arange(1, count)[:, None] * steps) % 1.0
    # The cube root would fill the ball evenly; the best is more often near the middle.
    radius = np.sqrt(share[:, 0])
    height = 2 * share[:, 1] - 1
    turn = 2 * np.pi * share[:, 2]
    flat = np.sqrt(1 - height**2)
    ball = radius[:, None] * np.stack([height, flat * np.cos(turn), flat * np.sin(turn)], axis=1)
    return np.vstack([np.zeros((1, 3)), ball])


def round_colours(
    centre: npt.ArrayLike, radius: float, count: int = PAPER_PATCHES, stretch: float = 1.0
) -> list[Colour]:
    """Distinct sRGB colours, 0 to 255, of a round around a CIELAB centre, the centre first.

    centre: (3,); radius: CIEDE2000, above 0 and below 200; count: 1 to 100; stretch: how much
    longer the ball is in lightness. A centre outside the gamut is brought to its edge. Where too
    little of the ball lies inside the gamut, the ball is widened. Raises ValueError outside.

    >>> round_colours([50.0, 0.0, 0.0], 3.0, 2)[0]
    (119, 119, 119)
    """
    if not 0 < radius < 200:
        raise ValueError(f"a round has a radius above 0 and below 200, not {radius}")
    if not 1 <= count <= 100:
        raise ValueError(f"a round has from 1 to 100 patches, not {count}")
    middle, _ = srgb_from_lab(centre)
    start = lab_from_srgb(middle)
    while True:
        axes = radius * ball_axes(start, stretch)
        found = _distinct_inside(start + ball_points(CANDIDATES) @ axes, count)
        if len(found) == count:
            return found
        radius *= WIDENING


def round_radius(number: int, before: float | None = None, far: float = 0.0) -> float:
    """Radius of round 1, 2, 3 ... in weighted CIELAB units.

    before: the radius of the round before; far: how far out of its ball the answer lay, as a
    share of that radius. An answer at the rim keeps the next ball wide. Raises ValueError for a
    number below 1. Source: common practice, no source.

    >>> round_radius(1), round_radius(2, 14.0, 0.3), round_radius(2, 10.0, 0.9)
    (14.0, 6.0, 8.0)
    """
    if number < 1:
        raise ValueError(f"rounds are numbered from 1, not {number}")
    usual = RADII[min(number, len(RADII)) - 1]
    if before is None:
        return usual
    return max(usual, before * (RIM_KEEPS if far > RIM else LEAST_SHARE))


def share_of_ball(move: npt.ArrayLike, centre: npt.ArrayLike, radius: float) -> float:
    """How far a move in CIELAB (3,) goes, as a share of the ball's radius around a centre.

    >>> share_of_ball([0.0, 3.0, 4.0], [50.0, 0.0, 0.0], 10.0)
    0.5
    """
    steps = np.linalg.solve(ball_axes(centre).T, np.asarray(move, dtype=np.float64))
    return float(np.linalg.norm(steps)) / radius


def _distinct_inside(lab: Numbers, count: int) -> list[Colour]:
    rgb, inside = srgb_from_lab(lab)
    inside[0] = True
    found: dict[Colour, None] = {}
    for red, green, blue in np.rint(rgb[inside]).astype(int).tolist():
        found[(red, green, blue)] = None
        if len(found) == count:
            break
    return list(found)
