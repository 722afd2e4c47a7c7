"""When something was done, as a maker types it: '21:40', 'yesterday 21:40', '2026-11-24 21:40'."""

from __future__ import annotations

import re
from datetime import UTC, datetime, time, timedelta, tzinfo
from typing import Any

from django import forms
from django.utils import timezone

from decaljobs.forms.days import read_day
from decaljobs.shown import ways

EARLIEST_YEAR, LATEST_YEAR = 2000, 2200
HOW_TO = "21:40, yesterday 21:40 or with a date; empty means now"
NOT_READ = "Write a time such as 21:40, yesterday 21:40 or 2026-11-24 21:40."
HOW_TO_12 = "9:40 pm, yesterday 9:40 pm or {day} 9:40 pm; empty means now"
EXAMPLE_DAYS = {"dmy": "24/11/2026", "mdy": "11/24/2026", "ymd": "2026-11-24"}

_WRITTEN = re.compile(
    r"(?:(?P<day>[^:]*?)(?:\s+|(?<=[0-9])t))?"
    r"(?P<hour>[0-9]{1,2})[:.](?P<minute>[0-9]{2})(?::(?P<second>[0-9]{2})(?:[.,][0-9]{1,9})?)?"
    r"(?:\s*(?P<half>am|pm))?"
    r"\s*(?P<zone>[a-z]{1,5}|[+-][0-9]{2}(?::?[0-9]{2})?)?"
)
_OFFSET = re.compile(r"([+-])([0-9]{2}):?([0-9]{2})?")


class MomentField(forms.CharField):
    """A moment in the workshop's zone, given back in UTC; None when left empty."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", HOW_TO)
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off"}))
        super().__init__(max_length=60, **kwargs)

    def get_bound_field(self, form: forms.BaseForm, field_name: str) -> forms.BoundField:
        """The field as it stands on a page, told in the reader's own ways."""
        reader = ways()
        if reader.twelve and self.help_text == HOW_TO:
            self.help_text = HOW_TO_12.format(day=EXAMPLE_DAYS[reader.order])
        return super().get_bound_field(form, field_name)

    def to_python(self, value: Any) -> datetime | None:  # type: ignore[override]
        if isinstance(value, datetime):
            return value
        text = super().to_python(value)
        if text in self.empty_values:
            return None
        if len(text) > 60:
            raise forms.ValidationError(NOT_READ)
        return read_moment(text, now=timezone.now(), zone=timezone.get_current_timezone())

    def run_validators(self, value: Any) -> None:
        """The validators of text have nothing to say about a moment."""


def read_moment(text: str, *, now: datetime, zone: tzinfo) -> datetime:
    """The moment (UTC) that a maker's words name, by the zone's wall clock.

    Raises ValidationError for anything else, for an hour that the clocks passed
    over, and for one they ran through twice unless its zone is written behind.
    """
    read = _WRITTEN.fullmatch(" ".join(text.split()).casefold())
    if read is None:
        raise forms.ValidationError(NOT_READ)
    try:
        clock = time(_hour(read), int(read["minute"]), int(read["second"] or 0))
        today = now.astimezone(zone).date()
        day = read_day(read["day"], today, ways().order) if read["day"] else today
        wall = datetime.combine(day, clock)
    except ValueError as error:
        raise forms.ValidationError(NOT_READ) from error
    if not EARLIEST_YEAR <= wall.year <= LATEST_YEAR:
        raise forms.ValidationError(f"The year must be {EARLIEST_YEAR} to {LATEST_YEAR}.")
    return _in_zone(wall, read["zone"] or "", zone).astimezone(UTC)


def _hour(read: re.Match[str]) -> int:
    hour = int(read["hour"])
    return hour_of_half(hour, read["half"]) if read["half"] else hour


def hour_of_half(hour: int, half: str) -> int:
    """The hour of the day, 0 to 23; 12 am is midnight, and there is no 13 pm (ValueError)."""
    if not 1 <= hour <= 12:
        raise ValueError("There are twelve hours before noon and twelve after it.")
    return hour % 12 + (12 if half == "pm" else 0)


def _in_zone(wall: datetime, written: str, zone: tzinfo) -> datetime:
    offset = _offset(written)
    if offset is not None:
        return wall.replace(tzinfo=offset)
    first, second = (wall.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if first.utcoffset() == second.utcoffset():
        _check_name(written, [first])
        return first
    if first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != wall:
        raise forms.ValidationError(
            f"The clocks went forward past {ways().clock(wall.time())} that night."
        )
    if not written:
        clock = ways().clock(wall.time())
        names = " or ".join(f"{clock} {moment.tzname()}" for moment in (first, second))
        raise forms.ValidationError(f"{clock} came twice that night: write {names}.")
    return _check_name(written, [first, second])


def _offset(written: str) -> tzinfo | None:
    if written in ("z", "utc"):
        return UTC
    read = _OFFSET.fullmatch(written)
    if read is None:
        return None
    ahead = timedelta(hours=int(read[2]), minutes=int(read[3] or 0))
    if ahead >= timedelta(hours=24):
        raise forms.ValidationError(NOT_READ)
    return timezone.get_fixed_timezone(-ahead if read[1] == "-" else ahead)


def _check_name(written: str, possible: list[datetime]) -> datetime:
    """The moment whose zone goes by the written name; the first when none is written."""
    for moment in possible:
        if not written or written == (moment.tzname() or "").casefold():
            return moment
    names = " or ".join(moment.tzname() or "" for moment in possible)
    raise forms.ValidationError(f"At that time the clocks here show {names}.")
