"""Days as somebody writes them: 2026-11-24, 24/11/2026 or 11/24/2026, 24 Nov, Nov 24, 2026."""

from __future__ import annotations

import re
from datetime import date, timedelta

from decaljobs.craft.ways import MONTHS, WEEKDAYS, Order

_MONTH = f"(?P<month>{'|'.join(month.casefold() for month in MONTHS)})"
_WEEKDAY = re.compile(rf"(?:{'|'.join(day.casefold() for day in WEEKDAYS)}),?\s+")
_ISO = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_DOTTED = re.compile(r"([0-9]{1,2})\.([0-9]{1,2})\.([0-9]{4})")
_SLASHED = re.compile(r"([0-9]{1,2})/([0-9]{1,2})/([0-9]{4})")
_NAMED = re.compile(
    rf"(?:(?P<day>[0-9]{{1,2}})\s+{_MONTH}"
    rf"|{_MONTH.replace('month', 'named')}\s+(?P<second>[0-9]{{1,2}}),?)"
    r"(?:\s+(?P<year>[0-9]{4}))?"
)


def read_day(text: str, today: date, order: Order) -> date:
    """The day that a text in small letters names; a day without its year is the latest past one.

    Slashes are read in the order that the reader's own dates have. Raises ValueError for what is
    no day, and for slashes where years come first.
    """
    said = _WEEKDAY.sub("", text, count=1)
    if said in ("today", "yesterday"):
        return today - timedelta(days=said == "yesterday")
    if _ISO.fullmatch(said):
        return date.fromisoformat(said)
    if dotted := _DOTTED.fullmatch(said):
        return date(int(dotted[3]), int(dotted[2]), int(dotted[1]))
    if slashed := _SLASHED.fullmatch(said):
        return _slashed(slashed, order)
    if named := _NAMED.fullmatch(said):
        return _named(named, today)
    raise ValueError("That is no day.")


def _slashed(found: re.Match[str], order: Order) -> date:
    first, second, year = int(found[1]), int(found[2]), int(found[3])
    if order == "ymd":
        raise ValueError("Day or month first? Write the year first: 2026-11-24.")
    return date(year, second, first) if order == "dmy" else date(year, first, second)


def _named(found: re.Match[str], today: date) -> date:
    month = [m.casefold() for m in MONTHS].index(found["month"] or found["named"]) + 1
    day = int(found["day"] or found["second"])
    if found["year"]:
        return date(int(found["year"]), month, day)
    this_year = date(today.year, month, day)
    return this_year if this_year <= today else date(today.year - 1, month, day)
