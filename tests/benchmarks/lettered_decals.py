"""Decal sets nearer to what makers cut: drawings and lines of lettering with their real outlines.

In `made_up_decals` a line of text is a plain rectangle, which no nesting by outline can gain on.
A line of lettering has ascenders and tails, tapers towards a bow or runs over an arch, and is cut
by its outline. Here every kind of drawing that the example workshop draws, and four ways of setting
a line, come equally often (common practice, no source for their shares); copies are 1 to 8 as
there. Outlines are read off the pictures, as the program reads those of its artwork.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import cos, degrees, radians, sin
from random import Random

from PIL import Image, ImageDraw, ImageFont

from decaljobs.craft.art.cutout import cut_out
from decaljobs.craft.layout.nestoutline import outline_of_picture
from decaljobs.services.demo.art import DRAWINGS, FONT
from tests.benchmarks.made_up_decals import MadeUpDecal

NAMES = ("Sandpiper", "Old Quay", "Great Puffle", "Tern", "Windle & Daughter", "Harbour Works")
INK = "#16202b"
#: Letters are drawn so many pixels tall; their size in mm is set afterwards.
LETTER = 90
#: Degrees of an arch that lettering runs over.
ARCH = 100
#: Widths in mm, least and most: of each drawing of the example workshop, and of a line. A level
#: line is as wide as a line of text in `made_up_decals`; one over an arch stands over a badge.
DRAWN = {
    "roundel": (8, 40),
    "board": (20, 60),
    "pennant": (15, 50),
    "shield": (8, 35),
    "compass": (8, 30),
    "stripe": (40, 110),
    "warning": (10, 30),
}
SET = {"line": (25, 110), "number": (10, 40), "tapering": (25, 110), "arched": (12, 55)}


def lettered_set(pieces: int, seed: int) -> list[MadeUpDecal]:
    """Decals with that many copies in all; the same for the same seed."""
    random = Random(f"{pieces} lettered decals, {seed}")
    widths = DRAWN | SET
    decals: list[MadeUpDecal] = []
    left = pieces
    while left:
        copies = min(left, random.randint(1, 8))
        left -= copies
        kind = random.choice(list(widths))
        name = f"{kind} {len(decals) + 1}"
        words = random.choice(NAMES)
        width = round(random.uniform(*widths[kind]), 1)
        decals.append(_decal(name, kind, words, width, copies))
    return decals


def _decal(name: str, kind: str, words: str, width: float, copies: int) -> MadeUpDecal:
    picture = _picture(kind, words)
    height = width * picture.height / picture.width
    outline = [(x, height - y) for x, y in outline_of_picture(picture, width)]
    return MadeUpDecal(name, width, height, outline, copies)


@cache
def _picture(kind: str, words: str) -> Image.Image:
    if kind in DRAWN:
        return cut_out(DRAWINGS[kind](20, words[:1] if kind in ("roundel", "shield") else words))
    return cut_out(LINES[kind](words))


def _line(words: str) -> Image.Image:
    """A level line in upper and lower case."""
    return _set(words, lambda x: (x, 0.0, 0.0))


def _number(words: str) -> Image.Image:
    """A fleet number behind a capital, all of one height."""
    return _set(f"{words[0]} {len(words)}7", lambda x: (x, 0.0, 0.0))


def _tapering(words: str) -> Image.Image:
    """A line whose letters shrink to half their height, as names do towards a bow."""
    length = _font().getlength(words)
    return _set(words, lambda x: (x - x * x / 4 / length, 0.0, 0.0), lambda x: 1 - x / 2 / length)


def _arched(words: str) -> Image.Image:
    """A line over an arch of a hundred degrees, as names stand over a badge."""
    length = _font().getlength(words)
    radius = length / radians(ARCH)

    def place(x: float) -> tuple[float, float, float]:
        angle = (x - length / 2) / radius
        return length / 2 + radius * sin(angle), radius * (1 - cos(angle)), -degrees(angle)

    return _set(words, place)


LINES: dict[str, Callable[[str], Image.Image]] = {
    "line": _line,
    "number": _number,
    "tapering": _tapering,
    "arched": _arched,
}


@cache
def _font() -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(FONT, LETTER)


def _set(
    words: str,
    place: Callable[[float], tuple[float, float, float]],
    size: Callable[[float], float] = lambda x: 1.0,
) -> Image.Image:
    """Letter by letter, each with its foot at a place (px, y down), turned (degrees), of a size."""
    font, x = _font(), 0.0
    side = round(font.getlength(words) * 1.2) + 6 * LETTER
    page = Image.new("RGBA", (side, side), (0, 0, 0, 0))
    for letter in words:
        wide = font.getlength(letter)
        at_x, at_y, turn = place(x + wide / 2)
        glyph = Image.new("RGBA", (4 * LETTER, 4 * LETTER), (0, 0, 0, 0))
        middle = 2 * LETTER
        ImageDraw.Draw(glyph).text((middle, middle), letter, font=font, fill=INK, anchor="ms")
        share = size(x + wide / 2)
        sized = glyph.resize([round(edge * share) for edge in glyph.size])
        middle = round(middle * share)
        turned = sized.rotate(turn, Image.Resampling.BICUBIC, center=(middle, middle))
        corner = round(side / 6 + at_x) - middle, round(side / 2 + at_y) - middle
        page.alpha_composite(turned, (max(0, corner[0]), max(0, corner[1])))
        x += wide
    return page
