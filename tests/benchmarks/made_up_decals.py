"""Made-up decal sets: discs, text strips and shields, one to eight copies of each."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin
from random import Random

Outline = list[tuple[float, float]]


@dataclass(frozen=True)
class MadeUpDecal:
    """A decal's box in mm, its outline from the box's lower left corner, and its copies."""

    name: str
    width: float
    height: float
    outline: Outline
    copies: int


def made_up_set(pieces: int, seed: int) -> list[MadeUpDecal]:
    """Decals with that many copies in all; the same for the same seed."""
    random = Random(f"{pieces} decals, {seed}")
    decals: list[MadeUpDecal] = []
    left = pieces
    while left:
        copies = min(left, random.randint(1, 8))
        left -= copies
        shape = random.choice((_disc, _text, _shield))
        decals.append(shape(f"{shape.__name__[1:]} {len(decals) + 1}", copies, random))
    return decals


def _disc(name: str, copies: int, random: Random) -> MadeUpDecal:
    size = round(random.uniform(8, 40), 1)
    half = size / 2
    ring = [
        (half + half * cos(2 * pi * at / 48), half + half * sin(2 * pi * at / 48))
        for at in range(48)
    ]
    return MadeUpDecal(name, size, size, ring, copies)


def _text(name: str, copies: int, random: Random) -> MadeUpDecal:
    width, height = round(random.uniform(25, 110), 1), round(random.uniform(4, 10), 1)
    box = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]
    return MadeUpDecal(name, width, height, box, copies)


def _shield(name: str, copies: int, random: Random) -> MadeUpDecal:
    """Straight at the top, then two curves down to a point."""
    width = round(random.uniform(10, 35), 1)
    height = round(width * random.uniform(1.05, 1.4), 1)
    curved = height * 0.6
    right = [
        (width / 2 + width / 2 * cos(pi / 2 * at / 12), curved * (1 - at / 12)) for at in range(13)
    ]
    left = [(width - x, y) for x, y in right[:-1]]
    outline = [(0.0, height), *left, *reversed(right), (width, height)]
    return MadeUpDecal(name, width, height, outline, copies)
