"""Where a piece would overlap the others least, read off a grid over the strip. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from scipy import fft

from decaljobs.craft.arrays import Flags, Numbers
from decaljobs.craft.layout.lying import TurnedOutline

#: Side of a square of the grid, and how far apart two spots of one piece are at least, mm.
SQUARE, APART = 1.0, 5
#: More overlap than any piece has: squares beside a spot that was taken.
TAKEN = 1e9


@dataclass(frozen=True)
class Spot:
    """A turn and a place (x, y) mm of a piece, and how much would overlap there, mm²."""

    overlap: float
    turn: int
    x: float
    y: float


@dataclass(frozen=True)
class Turned:
    """An outline in one turn, and the squares that it covers with half a gap round it."""

    outline: TurnedOutline
    gap: float

    @cached_property
    def mask(self) -> Flags:
        """Squares, from half a gap before its box on."""
        wide, high = np.ceil((self.outline.size + self.gap) / SQUARE).astype(int)
        x, y = np.meshgrid(*(np.arange(n) + 0.5 for n in (wide, high)), indexing="ij")
        half = self.gap / 2
        grown = self.outline.shape.buffer(half)
        return np.asarray(shapely.contains_xy(grown, x * SQUARE - half, y * SQUARE - half))


class Grid:
    """The squares of a strip, `width` × `length` mm, that pieces lie on.

    >>> from shapely import box
    >>> from decaljobs.craft.layout.lying import outline_turned
    >>> square = Turned(outline_turned(box(0, 0, 20, 20), 0), gap=3)
    >>> grid = Grid(43, 43, 3, [(square, (0, 0)), (square, (23, 0)), (square, (0, 23))])
    >>> spot = grid.spots([(0, square)], 1)[0]
    >>> spot.overlap, spot.x, spot.y
    (0.0, 23.0, 23.0)
    """

    def __init__(
        self,
        width: float,
        length: float,
        gap: float,
        lying: Iterable[tuple[Turned, Sequence[float] | Numbers]] = (),
    ) -> None:
        self.sides = np.array([width, length])
        self.squares: Flags = np.zeros(np.ceil((self.sides + gap) / SQUARE).astype(int), bool)
        for piece, place in lying:
            self.lay(piece, place)

    def lay(self, piece: Turned, place: Sequence[float] | Numbers) -> None:
        """One piece more, its box from that place on."""
        part = self._under(piece, place)
        part |= piece.mask[: part.shape[0], : part.shape[1]]

    def overlap(self, piece: Turned, place: Sequence[float] | Numbers) -> float:
        """How much of a piece would overlap others at a place, mm²."""
        part = self._under(piece, place)
        return float((part & piece.mask[: part.shape[0], : part.shape[1]]).sum()) * SQUARE**2

    def spots(self, turns: Sequence[tuple[int, Turned]], most: int) -> list[Spot]:
        """The spots of least overlap, the best first: up to so many for each turn."""
        shape = [fft.next_fast_len(side, real=True) for side in self.squares.shape]
        ground = fft.rfft2(self.squares.astype(np.float32), shape)
        found = []
        for turn, piece in turns:
            room = (self.sides - piece.outline.size) / SQUARE
            if (room >= 0).all():
                mask = fft.rfft2(piece.mask.astype(np.float32), shape)
                overlaps = fft.irfft2(ground * np.conj(mask), shape)
                inside = overlaps[: int(room[0]) + 1, : int(room[1]) + 1]
                found += _least(inside, turn, most)
        return sorted(found, key=lambda spot: spot.overlap)

    def _under(self, piece: Turned, place: Sequence[float] | Numbers) -> Flags:
        x, y = (max(0, round(float(at) / SQUARE)) for at in place)
        return self.squares[x : x + piece.mask.shape[0], y : y + piece.mask.shape[1]]


def _least(overlaps: Numbers, turn: int, most: int) -> list[Spot]:
    found = []
    for _ in range(most):
        x, y = np.unravel_index(int(overlaps.argmin()), overlaps.shape)
        if overlaps[x, y] >= TAKEN:
            break
        squares = float(np.rint(overlaps[x, y]))
        found.append(Spot(squares * SQUARE**2, turn, float(x) * SQUARE, float(y) * SQUARE))
        overlaps[max(0, x - APART) : x + APART + 1, max(0, y - APART) : y + APART + 1] = TAKEN
    return found
