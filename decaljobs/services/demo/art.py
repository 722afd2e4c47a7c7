"""Drawings for the example workshop: plain badges and boards, drawn here and now.

Every drawing is a light field within a dark outline, as laminated decals want it.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from decaljobs.craft.units import INCH

DPI = 600
FINER = 2  # drawn so much larger, then reduced, for smooth edges
FONT = Path(__file__).parents[2] / "pdf" / "fonts" / "DejaVuSansCondensed-Bold.ttf"

INK, CREAM, GOLD, RED, SKY = "#16202b", "#f7f1df", "#e9b44c", "#9c2a21", "#cfe0ea"


class _Board:
    """A transparent picture with helpers that take shares of its width and height."""

    def __init__(self, width_mm: float, ratio: float) -> None:
        wide = round(width_mm / INCH * DPI) * FINER
        self.size = (wide, round(wide * ratio))
        self.image = Image.new("RGBA", self.size, (0, 0, 0, 0))
        self.draw = ImageDraw.Draw(self.image)

    def box(self, inset: float) -> tuple[float, float, float, float]:
        edge = inset * min(self.size)
        return (edge, edge, self.size[0] - 1 - edge, self.size[1] - 1 - edge)

    def points(self, shape: list[tuple[float, float]], inset: float = 0) -> list[tuple]:
        wide, high = self.size
        keep_x, keep_y = (
            1 - 2 * inset * min(self.size) / wide,
            1 - 2 * inset * min(self.size) / high,
        )
        return [
            ((0.5 + (x - 0.5) * keep_x) * (wide - 1), (0.5 + (y - 0.5) * keep_y) * (high - 1))
            for x, y in shape
        ]

    def write(
        self, text: str, share: float, colour: str, middle: float = 0.5, left_of: float = 1
    ) -> None:
        """Text in the middle, as tall as the share of the height unless it is too wide."""
        size = share * self.size[1]
        widest = 0.8 * left_of * self.size[0]
        font = ImageFont.truetype(FONT, size)
        if font.getlength(text) > widest:
            font = ImageFont.truetype(FONT, size * widest / font.getlength(text))
        where = (self.size[0] * left_of / 2, self.size[1] * middle)
        self.draw.text(where, text, font=font, fill=colour, anchor="mm")

    def finished(self) -> Image.Image:
        return self.image.resize(
            (self.size[0] // FINER, self.size[1] // FINER), Image.Resampling.LANCZOS
        )


def roundel(width_mm: float, text: str, colour: str = RED) -> Image.Image:
    """A disc with a numeral."""
    board = _Board(width_mm, 1)
    board.draw.ellipse(board.box(0), fill=INK)
    board.draw.ellipse(board.box(0.06), fill=CREAM)
    board.draw.ellipse(board.box(0.11), outline=colour, width=board.size[0] // 60)
    board.write(text, 0.5, colour)
    return board.finished()


def name_board(width_mm: float, text: str, colour: str = RED, ratio: float = 0.3) -> Image.Image:
    """A board with rounded ends and a name."""
    board = _Board(width_mm, ratio)
    high = board.size[1]
    board.draw.rounded_rectangle(board.box(0), high * 0.3, fill=INK)
    board.draw.rounded_rectangle(board.box(0.1), high * 0.22, fill=CREAM)
    board.draw.rounded_rectangle(board.box(0.16), high * 0.18, outline=colour, width=high // 40)
    board.write(text, 0.46, colour)
    return board.finished()


def pennant(width_mm: float, text: str, colour: str = INK) -> Image.Image:
    """A swallow-tailed flag with a letter or two."""
    shape = [(0, 0), (1, 0), (0.84, 0.5), (1, 1), (0, 1)]
    board = _Board(width_mm, 0.42)
    board.draw.polygon(board.points(shape), fill=INK)
    board.draw.polygon(board.points(shape, 0.08), fill=GOLD)
    board.draw.polygon(board.points(shape, 0.16), fill=CREAM)
    board.write(text, 0.44, colour, left_of=0.84)  # clear of the notch
    return board.finished()


def shield(width_mm: float, text: str, colour: str = RED) -> Image.Image:
    """A shield with a band across and a numeral below it."""
    shape = [(0, 0), (1, 0), (1, 0.55), (0.86, 0.8), (0.5, 1), (0.14, 0.8), (0, 0.55)]
    board = _Board(width_mm, 1.2)
    board.draw.polygon(board.points(shape), fill=INK)
    board.draw.polygon(board.points(shape, 0.06), fill=CREAM)
    wide, high = board.size
    board.draw.rectangle((wide * 0.06, high * 0.2, wide * 0.94, high * 0.3), fill=colour)
    board.write(text, 0.32, colour, middle=0.56)
    return board.finished()


def compass(width_mm: float, _text: str = "", colour: str = RED) -> Image.Image:
    """A four-pointed star on a disc."""
    board = _Board(width_mm, 1)
    board.draw.ellipse(board.box(0), fill=INK)
    board.draw.ellipse(board.box(0.06), fill=SKY)
    long, short = 0.4, 0.1
    tips = [(0, -long), (short, -short), (long, 0), (short, short)]
    tips += [(-x, -y) for x, y in tips]
    shape = [(0.5 + x, 0.5 + y) for x, y in tips]
    board.draw.polygon(board.points(shape), fill=colour)
    return board.finished()


def stripe(width_mm: float, _text: str = "", colour: str = GOLD) -> Image.Image:
    """A long lining with pointed ends."""
    shape = [(0, 0.5), (0.04, 0), (0.96, 0), (1, 0.5), (0.96, 1), (0.04, 1)]
    board = _Board(width_mm, 0.09)
    board.draw.polygon(board.points(shape), fill=INK)
    board.draw.polygon(board.points(shape, 0.18), fill=colour)
    return board.finished()


def warning(width_mm: float, text: str, colour: str = RED) -> Image.Image:
    """Small lettering in dark ink on nothing: good enough on clear film over pale paint."""
    board = _Board(width_mm, 0.22)
    board.write(text, 0.7, colour)
    return board.finished()


DRAWINGS: dict[str, Callable[..., Image.Image]] = {
    "roundel": roundel,
    "board": name_board,
    "pennant": pennant,
    "shield": shield,
    "compass": compass,
    "stripe": stripe,
    "warning": warning,
}
