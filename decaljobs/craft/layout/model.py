"""Pieces, sheets and where the pieces lie on them, mm; what cannot be laid out is refused here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, isfinite

#: Gap between pieces, mm (common practice, no source): room for scissors between two decals.
GAP = 3.0
#: A gap of 0 to this many mm is accepted.
WIDEST_GAP = 20.0
#: Pieces in one layout; more than a maker prints in years (a limit on work, no source).
MOST_PIECES = 10_000
#: A rest is kept as an offcut when both its sides have this many mm (common practice, no source).
SMALLEST_OFFCUT = 20.0
#: Sheets and pieces up to this many mm (a limit against slips of the pen, no source).
LONGEST_SIDE = 100_000.0
#: The shortest side that is still a piece, mm.
SHORTEST_SIDE = 0.01
#: Lengths are counted in whole µm, so that a gap is never eaten up by floating point.
PER_MM = 1_000
#: Slip of a length before it counts as the next µm, in µm (floating point only).
SLIP = 1e-6


class LayoutError(ValueError):
    """What was asked for cannot be laid out; the sentence says why."""


@dataclass(frozen=True)
class Piece:
    """A decal to be laid out: sides in mm, how often, and whether it may be turned by 90°."""

    name: str
    width: float
    height: float
    copies: int = 1
    turn: bool = True


@dataclass(frozen=True)
class Sheet:
    """A whole sheet of film, mm; nothing is printed within `margin` of its edges."""

    width: float
    height: float
    margin: float = 0.0


@dataclass(frozen=True)
class Offcut:
    """A rectangle of film left over, mm; all of it can be printed on."""

    name: str
    width: float
    height: float


@dataclass(frozen=True)
class Placement:
    """One copy where it lies: lower left corner and sides as they lie, mm."""

    name: str
    x: float
    y: float
    width: float
    height: float
    turned: bool


@dataclass(frozen=True)
class Rest:
    """What stays usable of a sheet after one straight cut: lower left corner and sides, mm."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class LaidSheet:
    """A sheet or offcut with its pieces and the film that they take, mm².

    `fullness` (0 to 1) is the pieces' area with gaps over the gapped area used.
    """

    source: str
    placements: tuple[Placement, ...]
    offcut: Rest | None
    fullness: float
    film_mm2: float


@dataclass(frozen=True)
class Layout:
    """All sheets used, the gapped area over the used area (0 to 1), and the film used, mm²."""

    sheets: tuple[LaidSheet, ...]
    utilisation: float
    film_mm2: float


@dataclass(frozen=True)
class StripLayout:
    """Pieces on one endless strip: its used length in mm, and as in `Layout`."""

    length: float
    placements: tuple[Placement, ...]
    utilisation: float
    film_mm2: float


def checked_pieces(pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """The pieces as they are, once they are known to be possible.

    Raises LayoutError for no pieces, more than 10,000 copies, a side outside 0.01 to 100,000 mm,
    and copies that are not a whole number from 1 on.

    >>> checked_pieces([Piece("tail", 20, 8)])
    (Piece(name='tail', width=20, height=8, copies=1, turn=True),)
    """
    for piece in pieces:
        _check_piece(piece)
    count = sum(piece.copies for piece in pieces)
    if not count:
        raise LayoutError("There are no pieces to lay out.")
    if count > MOST_PIECES:
        raise LayoutError(f"{count} pieces are too many: 1 to {MOST_PIECES} go into one layout.")
    return tuple(pieces)


def _check_piece(piece: Piece) -> None:
    check_side(piece.width, f"The width of ‘{piece.name}’")
    check_side(piece.height, f"The height of ‘{piece.name}’")
    if isinstance(piece.copies, bool) or not isinstance(piece.copies, int) or piece.copies < 1:
        raise LayoutError(
            f"‘{piece.name}’ has {piece.copies} copies: a whole number from 1 on is needed."
        )


def check_side(value: float, what: str) -> None:
    """Refuse a side that is not 0.01 to 100,000 mm long. Raises LayoutError naming what it is of.

    >>> check_side(20.0, "The width")
    >>> check_side(0.0, "A side")
    Traceback (most recent call last):
    decaljobs.craft.layout.model.LayoutError: A side is 0.0 mm: 0.01 to 100000 mm can be laid out.
    """
    if not _is_number(value) or not SHORTEST_SIDE <= value <= LONGEST_SIDE:
        raise LayoutError(
            f"{what} is {value} mm: {SHORTEST_SIDE} to {LONGEST_SIDE:.0f} mm can be laid out."
        )


def check_gap(gap: float, shortest: float) -> None:
    """Refuse a gap, mm, outside 0 to 20 or wider than the film's shortest side (LayoutError).

    >>> check_gap(3.0, 210.0)
    >>> check_gap(3.0, 2.0)
    Traceback (most recent call last):
    decaljobs.craft.layout.model.LayoutError: The gap of 3 mm is as wide as the film itself (2 mm).
    """
    if not _is_number(gap) or not 0 <= gap <= WIDEST_GAP:
        raise LayoutError(f"The gap is {gap} mm: 0 to {WIDEST_GAP:.0f} mm is possible.")
    if gap >= shortest:
        raise LayoutError(f"The gap of {gap:g} mm is as wide as the film itself ({shortest:g} mm).")


def usable(sheet: Sheet) -> tuple[float, float]:
    """Width and height inside the margin, mm; LayoutError if the margin leaves nothing.

    >>> usable(Sheet(210, 297, margin=5))
    (200, 287)
    """
    check_side(sheet.width, "The sheet's width")
    check_side(sheet.height, "The sheet's height")
    if not _is_number(sheet.margin) or sheet.margin < 0:
        raise LayoutError(f"The margin is {sheet.margin} mm: 0 mm or more is possible.")
    width, height = sheet.width - 2 * sheet.margin, sheet.height - 2 * sheet.margin
    if min(width, height) < SHORTEST_SIDE:
        raise LayoutError(
            f"A margin of {sheet.margin:g} mm leaves nothing of a sheet of "
            f"{sheet.width:g} × {sheet.height:g} mm."
        )
    return width, height


def check_fits(pieces: Sequence[Piece], width: float, height: float | None, what: str) -> None:
    """Refuse pieces that fit nowhere on width × height mm (no height: an endless strip).

    Raises LayoutError naming the piece and the largest that fits.

    >>> check_fits([Piece("tail", 250, 8)], 200, 287, "the sheet")
    >>> check_fits([Piece("tail", 250, 8, turn=False)], 200, 287, "the sheet")
    Traceback (most recent call last):
    decaljobs.craft.layout.model.LayoutError: ‘tail’ (250 × 8 mm) is larger than the sheet: ...
    """
    for piece in pieces:
        if not any(
            up(across) <= down(width) and (height is None or up(along) <= down(height))
            for across, along in ways_to_lie(piece)
        ):
            raise LayoutError(
                f"‘{piece.name}’ ({piece.width:g} × {piece.height:g} mm) is larger than {what}: "
                f"the largest that fits is {_largest(piece, width, height)}."
            )


def _largest(piece: Piece, width: float, height: float | None) -> str:
    if height is None:
        return f"{width:g} mm across the strip"
    turned = "" if piece.turn else ", and this piece may not be turned"
    return f"{width:g} × {height:g} mm{turned}"


def up(length: float) -> int:
    """A piece's side, mm, in whole µm and never less than it is.

    >>> up(10.0), up(10.0001)
    (10000, 10001)
    """
    return ceil(length * PER_MM - SLIP)


def down(length: float) -> int:
    """A stretch of film, mm, in whole µm and never more than it is.

    >>> down(10.0), down(10.0009)
    (10000, 10000)
    """
    return floor(length * PER_MM + SLIP)


def ways_to_lie(piece: Piece) -> list[tuple[float, float]]:
    """The sides across and along, mm, straight and, where allowed and different, turned.

    >>> ways_to_lie(Piece("tail", 20, 8))
    [(20, 8), (8, 20)]
    """
    straight = [(piece.width, piece.height)]
    if piece.turn and piece.width != piece.height:
        straight.append((piece.height, piece.width))
    return straight


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value)


def gapped_area(placements: Sequence[Placement], gap: float) -> float:
    """Area of pieces that each have one gap on two sides, mm².

    >>> gapped_area([Placement("tail", 0, 0, 17, 7, False)], 3)
    200
    """
    return sum((placed.width + gap) * (placed.height + gap) for placed in placements)
