"""Scale, lengths and paper sizes. Lengths are millimetres, a scale is its ratio 1 : n."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from math import inf

from decaljobs.craft.figures import short

#: Millimetres in an inch: exact by the international yard and pound agreement of 1959.
MM_PER_INCH = Decimal("25.4")
#: The same for lengths that are measured, not typed.
INCH = float(MM_PER_INCH)
#: Millimetres in a foot: twelve inches, exact by the same agreement.
MM_PER_FOOT = Decimal("304.8")
#: PDF points in a millimetre: 1/72 inch to the point, ISO 32000-1.
POINTS_PER_MM = 72 / INCH
#: The width or height of a marking that is taken for meant, mm (our own bounds).
LEAST_ART_MM, MOST_ART_MM = 0.5, 2000
#: Dots to the inch at print size from which a print looks sharp: common practice, no source.
SHARP_DPI = 300

#: Ratios of the model railway sizes by letter: NEM 010 (2011).
NEM_010_RATIOS: dict[str, Decimal] = {
    "Z": Decimal("220"),
    "N": Decimal("160"),
    "TT": Decimal("120"),
    "H0": Decimal("87"),
    "S": Decimal("64"),
    "0": Decimal("45"),
    "I": Decimal("32"),
    "II": Decimal("22.5"),
}

#: The largest and smallest model we take for meant: full size to 1 : 5000 (our own bounds).
LARGEST_RATIO = Decimal(5000)
SMALLEST_RATIO = Decimal(1)

_LONGEST_SCALE = 30
_NUMBER = r"([0-9]{1,9}(?:[.,][0-9]{1,9})?)"
_RATIO = re.compile(rf"(?:1 ?[:/] ?)?{_NUMBER}")
_PER_FOOT = re.compile(rf"{_NUMBER} ?mm(?: ?(?:/|per|to the) ?(?:ft|foot))?")
_ACCEPTED = "Write a scale as 1:76.2, as 4 mm/ft, or as a size such as H0."


class ScaleError(ValueError):
    """A scale that cannot be used; the message is one sentence for the maker."""


@dataclass(frozen=True)
class Paper:
    """A paper size, upright, in millimetres."""

    name: str
    width_mm: float
    height_mm: float


#: A4: ISO 216. Letter: ASME Y14.1 size A, 8.5 by 11 inches.
PAPERS: dict[str, Paper] = {
    "A4": Paper("A4", 210.0, 297.0),
    "Letter": Paper("Letter", 215.9, 279.4),
}


def paper(name: str) -> Paper:
    """The paper size by name, in millimetres: A4 or Letter.

    Raises ValueError for any other name.

    >>> paper("Letter").width_mm
    215.9
    """
    try:
        return PAPERS[name]
    except KeyError:
        raise ValueError("The paper is A4 or Letter.") from None


def check_sizes(what: str, *sizes: float) -> None:
    """Refuse sizes, mm, that are not finite and more than 0 (ValueError naming what they are of).

    >>> check_sizes("A decal's sides", 24.0, 10.0)
    >>> check_sizes("A decal's sides", 24.0, 0.0)
    Traceback (most recent call last):
    ValueError: A decal's sides are more than 0 mm.
    """
    if not all(0 < size < inf for size in sizes):
        raise ValueError(f"{what} are more than 0 mm.")


def parse_scale(text: str) -> Decimal:
    """The ratio n of a scale 1 : n from what a maker writes (no unit).

    Takes '1:76.2', '1/72', '76.2', '4 mm/ft', '4mm' and the size letters of
    NEM 010, with 'NEM' before them or not. A lone 0 is refused as a scale of
    nothing; the size is written 'NEM 0'. Range 1 to 5000.

    Raises ScaleError with the accepted ways of writing or the allowed range.

    >>> parse_scale("4 mm/ft")
    Decimal('76.2')
    >>> parse_scale("H0")
    Decimal('87')
    >>> parse_scale("0")
    Traceback (most recent call last):
    ...
    decaljobs.craft.units.ScaleError: A scale of 0 is no scale; for the size 0 write NEM 0 or 1:45.
    """
    said = " ".join(text.split()).casefold()
    if not said:
        raise ScaleError(_ACCEPTED)
    if len(said) > _LONGEST_SCALE:
        raise ScaleError(f"That is too long for a scale. {_ACCEPTED}")
    by_letter = _ratio_of_letter(said)
    if by_letter is not None:
        return by_letter
    if per_foot := _PER_FOOT.fullmatch(said):
        return _ratio_from_mm_per_foot(_number(per_foot[1]))
    if ratio := _RATIO.fullmatch(said):
        return _checked(_number(ratio[1]))
    raise ScaleError(f"That is not a scale. {_ACCEPTED}")


def format_scale(ratio: Decimal) -> str:
    """The scale as written on a card: 1: and the ratio to two decimals at most.

    >>> format_scale(Decimal("76.20")), format_scale(parse_scale("7 mm/ft"))
    ('1:76.2', '1:43.54')
    """
    return f"1:{short(ratio)}"


def size_on_model(prototype_mm: float, ratio: Decimal) -> float:
    """The size on the model, mm, of a size on the prototype, mm.

    prototype_mm: 0 or more. ratio: 1 to 5000. Raises ValueError outside.

    >>> round(size_on_model(1829.0, Decimal("76.2")), 2)
    24.0
    """
    if not 0 <= prototype_mm < inf:
        raise ValueError("A size on the prototype is 0 mm or more.")
    return prototype_mm / float(_checked(ratio))


def _ratio_of_letter(said: str) -> Decimal | None:
    """The ratio of a NEM 010 letter; 0 alone is a number, and O alone differs by country."""
    name = said.removeprefix("nem").strip()
    if said == "o":
        raise ScaleError("O is 1:43.5, 1:45 or 1:48 by country; write the ratio.")
    if name == said and name == "0":
        raise ScaleError("A scale of 0 is no scale; for the size 0 write NEM 0 or 1:45.")
    letters = name.upper().replace("O", "0")
    return NEM_010_RATIOS.get(letters)


def _ratio_from_mm_per_foot(mm_per_foot: Decimal) -> Decimal:
    """Decimal to 28 digits, exact where 304.8 divides evenly."""
    if mm_per_foot <= 0:
        raise ScaleError("Millimetres to the foot must be more than 0.")
    return _checked(MM_PER_FOOT / mm_per_foot)


def _number(text: str) -> Decimal:
    return Decimal(text.replace(",", "."))


def _checked(ratio: Decimal) -> Decimal:
    if not ratio.is_finite() or not SMALLEST_RATIO <= ratio <= LARGEST_RATIO:
        raise ScaleError(f"A scale is between 1:{SMALLEST_RATIO} and 1:{LARGEST_RATIO}.")
    return ratio
