"""From pieces in mm to a stock in grains, and back from laid grains to placements in mm.

A grain is the greatest whole number of µm that divides all sides with their gap.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import gcd

from decaljobs.craft.layout.firstlayout import Fill
from decaljobs.craft.layout.model import PER_MM, Piece, Placement, down, up
from decaljobs.craft.layout.stock import Stock


@dataclass(frozen=True)
class Kind:
    """Pieces that are laid out alike: sides with the gap, µm, and the pieces of this kind."""

    side: int
    other: int
    turn: bool
    pieces: tuple[int, ...]


class Job:
    """All pieces of one request, and how many of each kind are still to be laid.

    With `together` every decal is a kind of its own, so that its copies know each other;
    without, all pieces of equal sides are one kind.
    """

    def __init__(self, pieces: Sequence[Piece], gap: float, together: bool) -> None:
        self.pieces, self.gap = pieces, round(gap * PER_MM)
        groups: dict[tuple[int, int, bool, str], list[int]] = {}
        for number, piece in enumerate(pieces):
            sides = self.with_gap(piece.width), self.with_gap(piece.height)
            if piece.turn:
                sides = max(sides), min(sides)
            mark = (sides[0], sides[1], piece.turn, piece.name if together else "")
            groups.setdefault(mark, []).append(number)
        self.kinds = [
            Kind(side, other, turn, tuple(numbers))
            for (side, other, turn, _), numbers in groups.items()
        ]
        self.waiting = [
            [number for number in kind.pieces for _ in range(pieces[number].copies)]
            for kind in self.kinds
        ]
        self.grain = gcd(*(side for kind in self.kinds for side in (kind.side, kind.other)))

    def with_gap(self, length: float) -> int:
        """A side with its gap, µm, never less than it is."""
        return up(length) + self.gap

    def grains(self, length: float) -> int:
        """A free stretch of film, mm, with the one gap that its last piece does not need."""
        return (down(length) + self.gap) // self.grain

    def mm(self, grains: int) -> float:
        """A length in grains as mm."""
        return grains * self.grain / PER_MM

    def left(self) -> int:
        """Pieces still to be laid."""
        return sum(len(waiting) for waiting in self.waiting)

    def area_left(self) -> int:
        """Their area with gaps, square grains."""
        return sum(
            kind.side * kind.other * len(waiting)
            for kind, waiting in zip(self.kinds, self.waiting, strict=True)
        ) // (self.grain * self.grain)

    @property
    def gap_mm(self) -> float:
        """The gap, mm, as it is counted."""
        return self.gap / PER_MM

    def batch(self, width: int, length: int, on_side: bool, numbers: Iterable[int]) -> Batch | None:
        """The waiting pieces of those kinds that fit on width × length grains; None: not one."""
        chosen = [
            number
            for number in numbers
            if self.waiting[number]
            and self.fits(number, *((length, width) if on_side else (width, length)))
        ]
        kinds = []
        for number in chosen:
            kind = self.kinds[number]
            across, along = kind.side // self.grain, kind.other // self.grain
            if on_side and not kind.turn:
                across, along = along, across
            kinds.append((across, along, len(self.waiting[number]), kind.turn))
        return Batch(self, Stock(width, kinds), tuple(chosen), on_side) if kinds else None

    def fits(self, number: int, width: int, height: int) -> bool:
        """Whether pieces of a kind fit on width × height grains as the sheet lies."""
        kind = self.kinds[number]
        side, other = kind.side // self.grain, kind.other // self.grain
        straight = side <= width and other <= height
        return straight or (kind.turn and other <= width and side <= height)

    def take(self, batch: Batch, fill: Fill) -> None:
        """The pieces of a fill wait no longer."""
        for number, left in zip(batch.kinds, fill.counts, strict=True):
            del self.waiting[number][: len(self.waiting[number]) - left]


@dataclass(frozen=True)
class Batch:
    """A stock made from some kinds of a job; on_side: x and y change places on the sheet."""

    job: Job
    stock: Stock
    kinds: tuple[int, ...]
    on_side: bool

    def placements(self, fill: Fill, x0: float = 0.0, y0: float = 0.0) -> tuple[Placement, ...]:
        """The pieces of a fill in mm, from the lower left corner at x0, y0."""
        queues = [iter(self.job.waiting[number]) for number in self.kinds]
        placed = []
        for way, x, y in fill.laid:
            across, _, kind = self.stock.ways[way]
            piece = self.job.pieces[next(queues[kind])]
            if self.on_side:
                x, y, across = y, x, self.stock.ways[way][1]
            turned = self._turned(piece, across)
            width, height = (piece.height, piece.width) if turned else (piece.width, piece.height)
            corner = x0 + self.job.mm(x), y0 + self.job.mm(y)
            placed.append(Placement(piece.name, *corner, width, height, turned))
        return tuple(placed)

    def _turned(self, piece: Piece, across: int) -> bool:
        """Whether a piece that takes `across` grains (gap included) lies turned."""
        return self.job.with_gap(piece.width) != across * self.job.grain
