"""Text made ready for paper: letters our font has, in the order they are seen. Widths in mm."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from pathlib import Path

from arabic_reshaper import reshape
from bidi.algorithm import get_base_level, get_display
from reportlab.pdfbase import pdfmetrics, ttfonts
from reportlab.pdfbase.ttfonts import TTFont

from decaljobs.craft.units import POINTS_PER_MM

FONTS = Path(__file__).parent / "fonts"
PLAIN, BOLD = "DejaVuSansCondensed", "DejaVuSansCondensed-Bold"
#: Stands for a character that the font has no letter for.
UNPRINTABLE = "□"
ELLIPSIS = "…"
#: More letters than any line of ours can hold, so that an endless text costs no endless time.
_MOST_LETTERS = 400

_RIGHT_TO_LEFT = {"R", "AL", "AN"}
#: Joiners, variation selectors and marks of direction: they have no shape of their own, and
#: a mark of direction inside a name could turn round the words printed after it.
_SHAPELESS = {"Cf", "Me"} | {"Zl", "Zp"}


_plain_unicode_map = ttfonts.makeToUnicodeCMap


def _utf16_unicode_map(font: str, subset: list[int]) -> str:
    """The map by which a reader copies text out of a PDF, in UTF-16 as ISO 32000-1 9.10.3 asks."""

    def pair(found: re.Match[str]) -> str:
        return f"<{chr(int(found[1], 16)).encode('utf-16-be').hex().upper()}>"

    return re.sub(r"<([0-9A-F]{5,6})>", pair, _plain_unicode_map(font, subset))


# reportlab writes letters above U+FFFF as one number, which readers take for another letter.
ttfonts.makeToUnicodeCMap = _utf16_unicode_map


@dataclass(frozen=True)
class Type:
    """A way of setting text: font, size and line distance in points, colour '#rrggbb'."""

    font: str
    size: float
    leading: float
    colour: str

    @property
    def line_mm(self) -> float:
        """The distance from line to line, mm."""
        return self.leading / POINTS_PER_MM

    def sized(self, size: float) -> Type:
        """The same type in another size, its line distance in proportion."""
        return replace(self, size=size, leading=self.leading * size / self.size)


@cache
def _face(font: str) -> TTFont:
    loaded = TTFont(font, FONTS / f"{font}.ttf")
    pdfmetrics.registerFont(loaded)
    return loaded


def printable(text: str) -> str:
    """The text on one line with every character our font lacks shown as an empty box.

    >>> printable("tram\\n14 \\N{CJK UNIFIED IDEOGRAPH-4E2D}")
    'tram 14 □'
    """
    known = _face(PLAIN).face.charToGlyph
    one_line = " ".join(unicodedata.normalize("NFC", text).split())
    return "".join(
        letter if ord(letter) in known and letter.isprintable() else UNPRINTABLE
        for letter in one_line
        if unicodedata.category(letter) not in _SHAPELESS and not _is_selector(letter)
    )


def width_mm(text: str, style: Type) -> float:
    """The width of printable text in a type, mm."""
    _face(style.font)
    return float(pdfmetrics.stringWidth(text, style.font, style.size)) / POINTS_PER_MM


@lru_cache(maxsize=4096)
def lines(text: str, style: Type, room: float, most: int = 60) -> tuple[str, ...]:
    """The text broken into lines at most room mm wide, ready to be drawn from the left.

    A word wider than the room is broken. More than `most` lines are cut, which
    an ellipsis shows. Right-to-left runs come in the order they are seen.
    """
    said = _joined(printable(text[: most * _MOST_LETTERS]))
    leftwards = bool(said) and get_base_level(said) == 1
    broken = _break(said, style, room)
    if len(broken) > most:
        broken = broken[:most]
        broken[-1] = _shortened(broken[-1], style, room)
    return tuple(_as_seen(line, leftwards) for line in broken)


def one_line(text: str, style: Type, room: float) -> str:
    """The text cut to one line of at most room mm, an ellipsis where it was cut."""
    return (lines(text, style, room, most=1) or ("",))[0]


def _is_selector(letter: str) -> bool:
    return "\ufe00" <= letter <= "\ufe0f" or "\U000e0100" <= letter <= "\U000e01ef"


def _has_leftward(text: str) -> bool:
    return any(unicodedata.bidirectional(letter) in _RIGHT_TO_LEFT for letter in text)


def _joined(text: str) -> str:
    """Arabic letters in the shapes they take when joined; other text as it is."""
    if any(unicodedata.bidirectional(letter) == "AL" for letter in text):
        return str(reshape(text))
    return text


def _as_seen(line: str, leftwards: bool) -> str:
    if not _has_leftward(line):
        return line
    return str(get_display(line, base_dir="R" if leftwards else "L"))


def _break(text: str, style: Type, room: float) -> list[str]:
    broken: list[str] = []
    current = ""
    for word in text.split(" "):
        longer = f"{current} {word}" if current else word
        if width_mm(longer, style) <= room:
            current = longer
            continue
        if current:
            broken.append(current)
        *full, current = _chop(word, style, room)
        broken += full
    return broken + [current] if current else broken


def _chop(word: str, style: Type, room: float) -> list[str]:
    """A word cut into parts that fit; the last one may still be added to."""
    parts = [""]
    used = 0.0
    for letter in word:
        wide = width_mm(letter, style)
        if used + wide > room and parts[-1]:
            parts.append("")
            used = 0.0
        parts[-1] += letter
        used += wide
    return parts


def _shortened(line: str, style: Type, room: float) -> str:
    while line and width_mm(line + ELLIPSIS, style) > room:
        line = line[:-1]
    return line + ELLIPSIS
