"""What a print file holds: a sheet of film, art at its places, and how it is drawn. Lengths in mm.

Places are from the sheet's top left corner, y downwards.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import isfinite

from shapely.geometry import Polygon

from decaljobs.craft.art.outlines import rings_of, shape_within
from decaljobs.craft.layout.place import QUARTERS, Ring, upright
from decaljobs.craft.units import check_sizes

#: Length of each arm of the cross that a printer is measured by, mm.
CROSS = 100.0
#: What a measured arm may be, mm; further off, the printer scales (our own bound).
LEAST_MEASURED, MOST_MEASURED = 91.0, 109.0
#: How far the band is printed inside the base cut, mm: three spreads of an untrained hand (memory).
INSIDE_CUT = 0.45


class BaseArt(StrEnum):
    """What is printed of a laminated marking on white film."""

    FULL = "full"
    BAND = "band"
    GUIDE = "guide"

    @property
    def words(self) -> str:
        """As the print page says it."""
        return {
            "full": "the whole art",
            "band": "the outline band only",
            "guide": "the cut line only",
        }[self.value]


@dataclass(frozen=True)
class PrintPiece:
    """One piece on the sheet: its picture file, place, and sides as it lies, mm.

    clip: rings between which alone the art is drawn (even and odd), none for all of it;
    lines: rings drawn as hairlines. Both in mm from the top left corner of the picture
    before it is turned, anticlockwise by 0, 90, 180 or 270 degrees. ticks: whether strokes off
    its corners help to find it; a piece nested among others has none.
    Raises ValueError for sides that are not more than 0 mm, other turns, or places that are no
    numbers.
    """

    art: bytes
    x: float
    y: float
    width: float
    height: float
    degrees: int = 0
    show_art: bool = True
    clip: tuple[Ring, ...] = ()
    lines: tuple[Ring, ...] = ()
    ticks: bool = True

    def __post_init__(self) -> None:
        if not all(isfinite(value) for value in (self.x, self.y)):
            raise ValueError("The place of a piece is known in mm.")
        check_sizes("The sides of a piece", self.width, self.height)
        if self.degrees not in QUARTERS:
            raise ValueError("A piece lies turned by 0, 90, 180 or 270 degrees.")

    @property
    def upright(self) -> tuple[float, float]:
        """Width and height of the picture before it is turned, mm.

        >>> PrintPiece(b"", 0, 0, 20, 8, degrees=90).upright
        (8, 20)
        """
        return upright(self.width, self.height, self.degrees)


@dataclass(frozen=True)
class PrintSheet:
    """A sheet to be printed: its size and clear margin in mm, its code, and what its edge says.

    x_factor and y_factor: what the drawing is multiplied by so that the printer prints it true
    to size. address: what the QR code says; qr: left and top of its place between the pieces,
    none where there is no room. Raises ValueError for sides that are not more than
    0 mm, or factors outside 0.9 to 1.1.
    """

    code: str
    width: float
    height: float
    margin: float
    said: str
    address: str
    pieces: tuple[PrintPiece, ...] = ()
    x_factor: float = 1.0
    y_factor: float = 1.0
    ticks: bool = True
    qr: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        check_sizes("The sides of a sheet", self.width, self.height)
        if not all(0.9 <= factor <= 1.1 for factor in (self.x_factor, self.y_factor)):
            raise ValueError("A printer's factors are 0.9 to 1.1.")


def factor_from(measured: float) -> float:
    """What to multiply a drawing by (no unit), from what a printed arm of 100 mm measures, mm.

    measured: 91 to 109 mm. Raises ValueError outside, with the range.

    >>> round(factor_from(99.5), 5)
    1.00503
    """
    if not LEAST_MEASURED <= measured <= MOST_MEASURED:
        raise ValueError(
            f"A printed cross of 100 mm measures {LEAST_MEASURED:.0f} to {MOST_MEASURED:.0f} mm; "
            "further off, the printer was not set to 100 %."
        )
    return CROSS / measured


def frame(width: float, height: float, outside: float = 0.0) -> Ring:
    """A rectangle round a picture of a size, mm, so far outside it.

    >>> frame(20, 8, 1)
    ((-1, -1), (21, -1), (21, 9), (-1, 9), (-1, -1))
    """
    left = top = -outside
    right, foot = width + outside, height + outside
    return ((left, top), (right, top), (right, foot), (left, foot), (left, top))


def grown(outline: Sequence[Sequence[float]], outside: float) -> Ring:
    """A closed ring so far outside (mm, 0 or more) an outline of three corners or more.

    >>> ring = grown([(0, 0), (20, 0), (20, 10), (0, 10)], 1)
    >>> round(Polygon(ring).area, 1)
    263.1
    """
    return _ring(Polygon(outline).buffer(outside).exterior.coords)


def band_strip(
    silhouette: Iterable[Sequence[Sequence[float]]],
    base_cut: Iterable[Sequence[Sequence[float]]],
    inside: float = INSIDE_CUT,
) -> tuple[Ring, ...]:
    """The strip from the edge of the art to a little inside the base cut, as rings in mm.

    inside: 0 mm or more beyond the cut. No strip: no rings. A ring has at least three places.

    >>> outer = [[(0, 0), (20, 0), (20, 10), (0, 10)]]
    >>> cut = [[(1, 1), (19, 1), (19, 9), (1, 9)]]
    >>> [round(Polygon(ring).area) for ring in band_strip(outer, cut, inside=1)]
    [200, 96]
    """
    kept = shape_within(base_cut).buffer(-inside, join_style="mitre")
    strip = shape_within(silhouette).difference(kept)
    return tuple(_ring(ring) for ring in rings_of(strip))


def _ring(places: Iterable[Sequence[float]]) -> Ring:
    return tuple((float(place[0]), float(place[1])) for place in places)
