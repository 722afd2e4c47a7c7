"""How lengths and times are written for one reader. Inside they stay millimetres and UTC."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, time
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Literal

from decaljobs.craft.units import MM_PER_INCH

Unit = Literal["mm", "in"]
Order = Literal["dmy", "mdy", "ymd"]

#: Further decimals that inches need to be as fine as millimetres: 1 in is 25.4 mm, so two more
#: are finer than any length written with as many decimals in mm (0.01 in of it is 0.254 mm).
MORE_DECIMALS = 2
#: A space at which no line ends, between a figure and its unit.
NO_BREAK = "\u00a0"
#: '0.24 mm', '20.0 × 6 mm', '10 to 25 mm', but not '4 mm/ft'.
_LENGTHS = re.compile(
    r"(?P<one>\d+(?:\.\d+)?)(?:(?P<between> × | to )(?P<other>\d+(?:\.\d+)?))?"
    r"(?P<space>[ \u00a0])mm(?![\w/²])"
)
# Not strftime: its names follow the machine's language, not the page's.
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True)
class Ways:
    """One reader's ways: the unit of lengths, the clock, the order of a date.

    >>> Ways(unit="in", twelve=True, order="mdy").length(25.4)
    '1.000\\xa0in'
    """

    unit: Unit = "mm"
    twelve: bool = False
    order: Order = "dmy"

    def figure(self, mm: float | Decimal, decimals: int = 1) -> str:
        """A length's figure in the reader's unit, without it.

        mm: any finite length, mm. decimals: those wanted in mm; inches get two more.

        >>> Ways().figure(24), Ways(unit="in").figure(24)
        ('24.0', '0.945')
        """
        exact = Decimal(str(mm))
        if self.unit == "in":
            exact, decimals = exact / MM_PER_INCH, decimals + MORE_DECIMALS
        return f"{_rounded(exact, decimals):zf}"

    def short(self, mm: float | Decimal, decimals: int = 2) -> str:
        """The same without idle zeros.

        >>> Ways().short(210), Ways(unit="in").short(215.9)
        ('210', '8.5')
        """
        text = self.figure(mm, decimals)
        return text.rstrip("0").rstrip(".") if "." in text else text

    def length(self, mm: float | Decimal, decimals: int = 1) -> str:
        """A length with its unit, kept on one line.

        >>> Ways().length(24.04)
        '24.0\\xa0mm'
        """
        return f"{self.figure(mm, decimals)}{NO_BREAK}{self.unit}"

    def size(self, width_mm: float | Decimal, height_mm: float | Decimal) -> str:
        """Two sides with their unit, without idle zeros.

        >>> Ways().size(210, 297), Ways(unit="in").size(215.9, 279.4)
        ('210 × 297\\xa0mm', '8.5 × 11\\xa0in')
        """
        return f"{self.short(width_mm)} × {self.short(height_mm)}{NO_BREAK}{self.unit}"

    def sentence(self, words: str) -> str:
        """A sentence of the trade's own, whose lengths stand in mm, in the reader's unit.

        >>> Ways(unit="in").sentence("Cut about 1 mm outside; 10 to 25.4 mm at 4 mm/ft.")
        'Cut about 0.04\\xa0in outside; 0.39 to 1.000\\xa0in at 4 mm/ft.'
        """
        return words if self.unit == "mm" else _LENGTHS.sub(self._in_reader_s_unit, words)

    def _in_reader_s_unit(self, found: re.Match[str]) -> str:
        figures = [self._as_fine(text) for text in (found["one"], found["other"]) if text]
        return f"{(found['between'] or '').join(figures)}{NO_BREAK}{self.unit}"

    def _as_fine(self, mm: str) -> str:
        """A figure as fine as it was written in mm."""
        return self.figure(Decimal(mm), len(mm.partition(".")[2]))

    def to_mm(self, typed: Decimal) -> Decimal:
        """The length in mm of a figure typed in the reader's unit, exactly.

        >>> Ways(unit="in").to_mm(Decimal("8.5"))
        Decimal('215.90')
        """
        return typed * MM_PER_INCH if self.unit == "in" else typed

    def clock(self, when: time) -> str:
        """A time of day to the minute.

        >>> Ways().clock(time(21, 40)), Ways(twelve=True).clock(time(0, 5))
        ('21:40', '12:05\\xa0am')
        """
        if not self.twelve:
            return f"{when.hour:02d}:{when.minute:02d}"
        half = "pm" if when.hour >= 12 else "am"
        return f"{when.hour % 12 or 12}:{when.minute:02d}{NO_BREAK}{half}"

    def stretch(self, start: time, end: time) -> str:
        """From one time of day to another.

        >>> Ways().stretch(time(19), time(22)), Ways(twelve=True).stretch(time(9), time(13))
        ('19:00–22:00', '9:00\\xa0am–1:00\\xa0pm')
        """
        return f"{self.clock(start)}–{self.clock(end)}"

    def day(self, day: date, *, weekday: bool = True, year: bool = True) -> str:
        """A date in words.

        >>> from datetime import date
        >>> day = date(2026, 12, 3)
        >>> Ways().day(day), Ways(order="mdy").day(day), Ways(order="ymd").day(day)
        ('Thu 3 Dec 2026', 'Thu Dec 3, 2026', 'Thu 2026-12-03')
        """
        month = MONTHS[day.month - 1]
        said = {
            "dmy": f"{day.day} {month}" + (f" {day.year}" if year else ""),
            "mdy": f"{month} {day.day}" + (f", {day.year}" if year else ""),
            "ymd": f"{day.year}-{day.month:02d}-{day.day:02d}",
        }[self.order]
        return f"{WEEKDAYS[day.weekday()]} {said}" if weekday else said


#: The ways of the workshop itself, and of all that is printed.
PLAIN = Ways()


def _rounded(value: Decimal, decimals: int) -> Decimal:
    return value.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_EVEN)
