"""Days as somebody writes them: 2026-11-24, 24/11/2026 or 11/24/2026, 24 Nov, Nov 24, 2026."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from decaljobs.craft.ways import MONTHS, WEEKDAYS, Order
from decaljobs.shown import ways

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


#: No day of a workshop's lies further off.
EARLIEST, LATEST = date(2000, 1, 1), date(2100, 12, 31)


class DayField(forms.DateField):
    """A day, picked from the browser's calendar, or typed where there is none.

    The calendar writes it in the browser's own order: the reader's stands in words beside it.
    """

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
        super().__init__(**kwargs)

    def get_bound_field(self, form: forms.BaseForm, field_name: str) -> forms.BoundField:
        bound = super().get_bound_field(form, field_name)
        day = form.get_initial_for_field(self, field_name)
        if isinstance(day, date):
            bound.help_text = f"now {ways().day(day)}"
        return bound

    def validate(self, value: Any) -> None:
        super().validate(value)
        if value is not None and not EARLIEST <= value <= LATEST:
            raise forms.ValidationError(f"Write a day from {EARLIEST.year} to {LATEST.year}.")

    def to_python(self, value: Any) -> date | None:
        text = value.strip().casefold() if isinstance(value, str) else ""
        if re.search(r"[0-9]{4}", text):  # a day without its year could be a past one or a coming
            try:
                return read_day(text, timezone.localdate(), ways().order)
            except ValueError as error:
                raise forms.ValidationError("Write a day such as 2026-11-24.") from error
        return super().to_python(value)
