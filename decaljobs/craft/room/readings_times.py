"""The times in a file of readings: dates and clocks as loggers write them, put into UTC."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta, tzinfo
from enum import StrEnum

from decaljobs.craft.moments import utc

DAY = 86_400  # s
QUARTER = 900  # s; clocks change on whole quarters of an hour everywhere (IANA time zones)
FIRST_DAY, LAST_DAY = date(2000, 1, 1), date(2200, 12, 31)
MILLISECONDS = 1e11  # a count of seconds from 1970 as large as this is in milliseconds

_DATE = {
    "year": re.compile(r"(?P<y>\d{4})[-/.](?P<m>\d{1,2})[-/.](?P<d>\d{1,2})"),
    "day": re.compile(r"(?P<d>\d{1,2})[-/.](?P<m>\d{1,2})[-/.](?P<y>\d{4}|\d{2})"),
    "month": re.compile(r"(?P<m>\d{1,2})[-/.](?P<d>\d{1,2})[-/.](?P<y>\d{4}|\d{2})"),
}
_CLOCK = re.compile(
    r"(\d{1,2})[:.](\d{2})(?:[:.](\d{2})(?:[.,]\d{1,9})?)?\s*([ap])?\.?(?:m\.?)?\s*"
    r"(z|utc|gmt|[+-]\d{2}:?\d{2})?",
    re.IGNORECASE,
)


class TimeFormat(StrEnum):
    """In which order a file writes its dates."""

    YEAR_FIRST = "year"
    DAY_FIRST = "day"
    MONTH_FIRST = "month"
    SECONDS = "seconds"

    @property
    def words(self) -> str:
        """An example, and the order in words."""
        return {
            "year": "2026-11-24 21:40, year first",
            "day": "24.11.2026 21:40, day first",
            "month": "11/24/2026 9:40 PM, month first",
            "seconds": "seconds since 1970",
        }[self.value]


class TimeError(ValueError):
    """A time that cannot be read; the message says why."""


class TimeReader:
    """Reads times of one format and zone into whole seconds since 1970 UTC.

    An hour that the clocks run through twice is taken as the second one once a line is earlier
    than the line before it, or the same where a logger has written no more than one in that time;
    where the newest line stands first, the other way round. What was read is kept, so that a long
    file is quick.

    >>> from datetime import UTC
    >>> TimeReader(TimeFormat.DAY_FIRST, UTC).seconds("01.01.1970 00:02") # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ...
    decaljobs.craft.room.readings_times.TimeError: 1970 is not a year from 2000 to 2200
    >>> TimeReader(TimeFormat.YEAR_FIRST, UTC).seconds("2026-11-24T21:40:30+01:00")
    1795552830
    """

    def __init__(self, form: TimeFormat, zone: tzinfo) -> None:
        self.form, self.zone = form, zone
        self._days: dict[str, int] = {}
        self._clocks: dict[str, tuple[int, int | None]] = {}
        self._offsets: dict[int, tuple[int, int, bool]] = {}
        self._last: int | None = None
        self._shortest: int | None = None  # seconds from one line to the next, of all so far
        self._falling = False  # whether the newest line stands first

    def seconds(self, text: str) -> int:
        """Seconds since 1970 UTC of a date and a clock; raises TimeError."""
        if self.form is TimeFormat.SECONDS:
            return _counted(text)
        day, _, clock = text.strip().replace("T", " ").partition(" ")
        midnight = self._days.get(day)
        if midnight is None:
            midnight = self._days[day] = self._midnight(day)
        known = self._clocks.get(clock)
        if known is None:
            known = self._clocks[clock] = _clock(clock)
        wall, offset = midnight + known[0], known[1]
        read = wall - (self._offset(wall) if offset is None else offset)
        self._step_to(read)
        return read

    def _step_to(self, read: int) -> None:
        if self._last is not None:
            step = abs(read - self._last)
            self._shortest = step if self._shortest is None else min(step, self._shortest)
            self._falling = read < self._last if step else self._falling
        self._last = read

    def _midnight(self, text: str) -> int:
        read = _DATE[self.form].fullmatch(text)
        if read is None:
            raise TimeError(f"‘{text[:40]}’ is no date of the form {self.form.words}")
        year = int(read["y"]) + (2000 if len(read["y"]) == 2 else 0)
        try:
            day = date(year, int(read["m"]), int(read["d"]))
        except ValueError:
            raise TimeError(f"‘{text}’ is no day of the calendar") from None
        if not FIRST_DAY <= day <= LAST_DAY:
            raise TimeError(f"{year} is not a year from {FIRST_DAY.year} to {LAST_DAY.year}")
        return (day - date(1970, 1, 1)).days * DAY

    def _offset(self, wall: int) -> int:
        """Seconds that the zone is ahead of UTC at a wall clock's seconds since 1970."""
        key = wall // QUARTER
        known = self._offsets.get(key)
        if known is None:
            known = self._offsets[key] = self._look_up(wall)
        first, second, passed_over = known
        if passed_over:
            clock = f"{wall % DAY // 3600:02d}:{wall % 3600 // 60:02d}"
            raise TimeError(f"the clocks went forward past {clock} that night")
        if first == second or self._last is None:
            return first
        earlier, later = wall - first, wall - second
        comes_first, comes_next = (second, first) if self._falling else (first, second)
        if self._last == wall - comes_first and (self._shortest or 0) < later - earlier:
            return comes_first  # the same line again, of a logger that writes more often
        return comes_next if earlier <= self._last <= later else comes_first

    def _look_up(self, wall: int) -> tuple[int, int, bool]:
        naive = datetime(1970, 1, 1) + timedelta(seconds=wall)
        moments = [naive.replace(tzinfo=self.zone, fold=fold) for fold in (0, 1)]
        ahead = [moment.utcoffset() or timedelta(0) for moment in moments]
        back = utc(moments[0]).astimezone(self.zone).replace(tzinfo=None)
        first, second = (int(offset.total_seconds()) for offset in ahead)
        return first, second, first != second and back != naive


def _counted(text: str) -> int:
    try:
        count = float(text)
    except ValueError:
        raise TimeError(f"‘{text[:40]}’ is no count of seconds") from None
    seconds = count / 1000.0 if abs(count) >= MILLISECONDS else count
    first, last = ((day - date(1970, 1, 1)).days * DAY for day in (FIRST_DAY, LAST_DAY))
    if not first <= seconds < last:
        raise TimeError(f"{text[:40]} s is not in the years {FIRST_DAY.year} to {LAST_DAY.year}")
    return int(seconds)


def _clock(text: str) -> tuple[int, int | None]:
    """Seconds of the day, and seconds ahead of UTC where they are written behind it."""
    read = _CLOCK.fullmatch(text.strip())
    if read is None:
        raise TimeError(
            f"‘{text[:40]}’ is no time such as 21:40" if text else "the time of day is missing"
        )
    hour, minute, second = int(read[1]), int(read[2]), int(read[3] or 0)
    if read[4]:
        if not 1 <= hour <= 12:
            raise TimeError(f"‘{text}’ is no time of twelve hours")
        hour = hour % 12 + (12 if read[4].lower() == "p" else 0)
    if hour > 23 or minute > 59 or second > 59:
        raise TimeError(f"‘{text}’ is no time of the day")
    return hour * 3600 + minute * 60 + second, _written_offset(read[5] or "")


def _written_offset(text: str) -> int | None:
    if not text:
        return None
    if text[0] not in "+-":
        return 0
    seconds = int(text[1:3]) * 3600 + int(text[-2:]) * 60
    return -seconds if text[0] == "-" else seconds
