"""All that a job card prints, and how a decal's art is fitted to the paper. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from PIL.Image import Image

from decaljobs.craft.colour import format_hex, parse_hex
from decaljobs.craft.drawings.section import Section
from decaljobs.craft.placing import Panel, Placed
from decaljobs.craft.units import check_sizes

#: Pictures as the card takes them: the bytes of a file, its place, or an opened picture.
Art = bytes | Path | Image
#: Bytes of an address in a QR code of version 9, level M: ISO/IEC 18004, table 7. On the
#: card its modules are 0.5 mm; version 10 was misread from half the prints tried.
LONGEST_ADDRESS = 180


@dataclass(frozen=True)
class CardRow:
    """One step of one decal: what is done or to do, when, with what and with what caution.

    done and not_before are moments in words, empty when not known; reason says
    why a step was logged before its wait was over.
    """

    step: str
    done: str = ""
    not_before: str = ""
    reason: str = ""
    materials: tuple[str, ...] = ()
    caution: str = ""
    how: tuple[str, ...] = ()


Line = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class CardGuides:
    """Where the knife runs, lines of places in mm, within a box from (left, top) in mm."""

    left: float
    top: float
    width_mm: float
    height_mm: float
    base: tuple[Line, ...] = ()
    clear: tuple[Line, ...] = ()
    relief: tuple[Line, ...] = ()


@dataclass(frozen=True)
class CardDecal:
    """One decal on the card, its art at width_mm by height_mm (more than 0, less than 5000).

    number, of: which one of how many alike. good_copies: the layer in words and how many good
    pieces are left of it. drying: the wait that runs, told in a sentence.
    Raises ValueError for a size, number or count that cannot be.
    """

    place: str
    number: int
    of: int
    build: str
    stage: str
    section: Section
    width_mm: float
    height_mm: float
    art: Art | None = None
    pieces: tuple[str, ...] = ()
    good_copies: tuple[tuple[str, int], ...] = ()
    rows: tuple[CardRow, ...] = ()
    drying: str = ""
    guides: CardGuides | None = None

    def __post_init__(self) -> None:
        if not (0 < self.width_mm < 5000 and 0 < self.height_mm < 5000):
            raise ValueError("The art is more than 0 and less than 5000 mm wide and high.")
        if not 1 <= self.number <= self.of:
            raise ValueError("A decal is number 1 to n of n.")
        if any(count < 0 for _, count in self.good_copies):
            raise ValueError("Good copies left are 0 or more.")


@dataclass(frozen=True)
class CardPanel:
    """A panel with the decals on it, printed at true size as a strip to cut out and hold against
    the model."""

    name: str
    panel: Panel
    decals: tuple[Placed, ...] = ()


@dataclass(frozen=True)
class JobCard:
    """A project's job card; texts are printed as they stand, body_colour is '#rrggbb'.

    address: what the QR code says, at most 180 bytes. zone: the name of the
    time zone that every moment on the card is given in.
    Raises ValueError for a colour of another form or a longer address.
    """

    project: str
    code: str
    scale: str
    body_colour: str
    finish: str
    address: str
    printed_at: str
    zone: str
    due: str = ""
    customer: str = ""
    notes: str = ""
    decals: tuple[CardDecal, ...] = field(default=())
    panels: tuple[CardPanel, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "body_colour", format_hex(parse_hex(self.body_colour)))
        if not 0 < len(self.address.encode()) <= LONGEST_ADDRESS:
            raise ValueError(f"The address has 1 to {LONGEST_ADDRESS} bytes.")


@dataclass(frozen=True)
class Fit:
    """How art lies on the paper: turned a quarter or not, and its factor (1 is actual size)."""

    width_mm: float
    height_mm: float
    turned: bool
    factor: float


def fit_art(width_mm: float, height_mm: float, room_width: float, room_height: float) -> Fit:
    """How art of a size (mm) fits into a room (mm) on the paper.

    At actual size where it goes in upright; else turned a quarter; else
    reduced, whichever way round shows it larger. All sizes more than 0 mm;
    raises ValueError otherwise.

    >>> fit_art(24.0, 10.0, 174, 200)
    Fit(width_mm=24.0, height_mm=10.0, turned=False, factor=1.0)
    >>> fit_art(190.0, 60.0, 174, 200).turned
    True
    >>> fit_art(400.0, 100.0, 174, 200).factor
    0.5
    """
    check_sizes("Sizes", width_mm, height_mm, room_width, room_height)
    upright = min(room_width / width_mm, room_height / height_mm)
    turned = min(room_width / height_mm, room_height / width_mm)
    quarter = upright < 1 and turned > upright
    factor = min(1.0, turned if quarter else upright)
    wide, high = (height_mm, width_mm) if quarter else (width_mm, height_mm)
    return Fit(wide * factor, high * factor, quarter, factor)


def size_words(width_mm: float, height_mm: float, fit: Fit) -> str:
    """The art's true size in mm and, in a sentence, how it is shown.

    >>> size_words(24, 10.5, fit_art(24, 10.5, 174, 200))
    '24.0 × 10.5 mm, actual size'
    >>> size_words(400, 100, fit_art(400, 100, 174, 200))
    '400.0 × 100.0 mm. Not at actual size: shown at 0.5 of it, turned a quarter.'
    """
    size = f"{width_mm:.1f} × {height_mm:.1f} mm"
    turned = ", turned a quarter" if fit.turned else ""
    if fit.factor == 1:
        return f"{size}, actual size{turned}"
    return f"{size}. Not at actual size: shown at {fit.factor:.3g} of it{turned}."
