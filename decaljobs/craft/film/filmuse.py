"""Where the area of film went: pieces, the gaps between them, what is kept clean, and waste."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shapely.geometry import Polygon

from decaljobs.craft.layout.model import GAP

Box = tuple[float, float]


@dataclass(frozen=True)
class Cut:
    """The outline of one piece: its area, mm², and half the way round it, mm."""

    area: float
    half_round: float

    def with_strip(self, gap: float) -> float:
        """The area with a strip of a gap at two of its sides, mm².

        >>> box(50, 40).with_strip(3)
        2279
        """
        return self.area + self.half_round * gap + gap * gap


def box(width: float, height: float) -> Cut:
    """The outline of a rectangular piece of a width and height, mm.

    >>> box(50, 40)
    Cut(area=2000, half_round=90)
    """
    return Cut(width * height, width + height)


def outline(corners: Sequence[Sequence[float]]) -> Cut:
    """The outline of a piece nested by its corners, mm; it need not end where it began.

    ValueError for fewer than 3 corners.

    >>> outline([(0, 0), (30, 0), (0, 40)])
    Cut(area=600.0, half_round=60.0)
    """
    if len(corners) < 3:
        raise ValueError(f"an outline of {len(corners)} corners has no area: 3 or more are needed")
    shape = Polygon(corners)
    return Cut(shape.area, shape.length / 2)


@dataclass(frozen=True)
class FilmAccount:
    """Where an area of film went, mm²; the four add up to it.

    kept: clean film that can still be printed, offcuts above all.
    """

    pieces: float = 0.0
    gaps: float = 0.0
    kept: float = 0.0
    waste: float = 0.0

    @property
    def whole(self) -> float:
        """The area that was shared out, mm²."""
        return self.pieces + self.gaps + self.kept + self.waste

    @property
    def used(self) -> float:
        """What is no longer there to print on, mm²."""
        return self.pieces + self.gaps + self.waste

    def __add__(self, other: FilmAccount) -> FilmAccount:
        return FilmAccount(
            self.pieces + other.pieces,
            self.gaps + other.gaps,
            self.kept + other.kept,
            self.waste + other.waste,
        )


def film_account(
    sheet: Box, cuts: Iterable[Cut], offcuts: Iterable[Box] = (), *, gap: float = GAP
) -> FilmAccount:
    """Pieces, the gaps that belong to them, offcuts kept and waste of one printed sheet, mm².

    sheet, offcuts: width and height in mm, the sheet's as it was before they were cut off. A piece
    has a strip of ``gap`` mm (0 or more) at two of its sides, as far as there is room.
    ValueError where pieces and offcuts are more than the sheet (by 1 mm² or more).

    >>> film_account((210, 297), [box(50, 40)] * 10, [(210, 100)], gap=3)
    FilmAccount(pieces=20000.0, gaps=2790.0, kept=21000.0, waste=18580.0)
    """
    whole = float(sheet[0] * sheet[1])
    pieces = list(cuts)
    used = float(sum(piece.area for piece in pieces))
    kept = float(sum(width * height for width, height in offcuts))
    left = whole - used - kept
    if left <= -1:
        raise ValueError(f"pieces and offcuts take {used + kept:.0f} mm² of {whole:.0f}")
    strips = sum(piece.with_strip(gap) for piece in pieces) - used
    gaps = min(max(left, 0.0), strips)
    return FilmAccount(used, gaps, kept, left - gaps)
