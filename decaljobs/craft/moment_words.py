"""Moments and figures in words, by the workshop's own wall clock."""

import math
from datetime import datetime, timedelta, tzinfo

from decaljobs.craft.room.day_of_air import utc
from decaljobs.craft.ways import PLAIN, WEEKDAYS, Ways

WEEK = timedelta(days=6)  # further off than this a weekday alone would mislead


def moment_words(
    moment: datetime,
    now: datetime,
    zone: tzinfo,
    *,
    beside: datetime | None = None,
    ways: Ways = PLAIN,
) -> str:
    """An aware moment in words, rounded up to the minute, told from the aware `now`.

    The day is left out on the day of `beside`, a moment named just before; the date is added
    beyond six days. An hour that the clocks run through twice is told with its zone.

    >>> from datetime import UTC
    >>> now = datetime(2026, 1, 1, 12, tzinfo=UTC)
    >>> moment_words(now + timedelta(hours=16), now, UTC)
    'Fri 04:00'
    >>> moment_words(now + timedelta(days=20), now, UTC)
    'Wed 21 Jan 12:00'
    """
    local = whole_minute(moment).astimezone(zone)
    said = ways.clock(local.time())
    if comes_twice(local):
        said += f" {local.tzname()}"
    if beside and local.date() == whole_minute(beside).astimezone(zone).date():
        return said
    if abs(moment - now) <= WEEK:
        return f"{WEEKDAYS[local.weekday()]} {said}"
    return f"{ways.day(local.date(), year=False)} {said}"


def comes_twice(local: datetime) -> bool:
    """Whether the clocks of an aware moment's zone run through its hour twice.

    >>> from datetime import UTC
    >>> from zoneinfo import ZoneInfo
    >>> night = datetime(2026, 10, 25, 0, 30, tzinfo=UTC).astimezone(ZoneInfo("Europe/London"))
    >>> comes_twice(night), comes_twice(night + timedelta(hours=3))
    (True, False)
    """
    return local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()


def whole_minute(moment: datetime) -> datetime:
    """The aware moment in UTC, rounded up to the minute.

    >>> from datetime import UTC
    >>> whole_minute(datetime(2026, 1, 1, 12, 0, 1, tzinfo=UTC)).minute
    1
    """
    moment = utc(moment)
    cut = moment.replace(second=0, microsecond=0)
    return cut if cut == moment else cut + timedelta(minutes=1)


def cut_tenths(value: float) -> str:
    """A figure cut, not rounded, to a tenth, so that 11.96 of 12 never reads as 12 of 12.

    >>> cut_tenths(11.96), cut_tenths(12.0)
    ('11.9', '12')
    """
    return f"{math.floor(value * 10.0 + 1e-6) / 10.0:g}"
