"""Moments: in UTC, on a zone's wall clock, and in words."""

from datetime import UTC, datetime, timedelta, tzinfo

import numpy as np

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.ways import PLAIN, WEEKDAYS, Ways

HOUR = 3600.0  # seconds
WEEKDAY_TELLS = timedelta(days=6)  # further off than this a weekday alone would mislead


def utc(moment: datetime) -> datetime:
    """The moment in UTC; raises ValueError for a naive one.

    >>> utc(datetime(2026, 1, 1, tzinfo=UTC)).isoformat()
    '2026-01-01T00:00:00+00:00'
    """
    if moment.tzinfo is None or moment.utcoffset() is None:
        raise ValueError("the moment must be timezone-aware")
    return moment.astimezone(UTC)


def from_seconds(seconds: float) -> datetime:
    """The UTC moment so many seconds after 1970.

    >>> from_seconds(0).isoformat()
    '1970-01-01T00:00:00+00:00'
    """
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=float(seconds))


def utc_offsets(zone: tzinfo, hours: Numbers) -> Numbers:
    """Seconds that local time is ahead of UTC at whole hours given as seconds since 1970.

    >>> utc_offsets(UTC, np.array([0.0, 3600.0])).tolist()
    [0.0, 0.0]
    """
    days, day_of = np.unique(hours // 86400.0, return_inverse=True)
    midnights = days * 86400.0
    at_midnight = np.array([_offset(zone, m) for m in midnights])
    # A day on which the clocks change has to be asked hour by hour; the others do not.
    next_day = np.array([_offset(zone, m + 86400.0) for m in midnights])
    offsets = at_midnight[day_of]
    for index in np.flatnonzero((at_midnight != next_day)[day_of]):
        offsets[index] = _offset(zone, hours[index])
    return offsets


def _offset(zone: tzinfo, seconds: float) -> float:
    offset = from_seconds(seconds).astimezone(zone).utcoffset()
    return offset.total_seconds() if offset else 0.0


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
    if abs(moment - now) <= WEEKDAY_TELLS:
        return f"{WEEKDAYS[local.weekday()]} {said}"
    return f"{ways.day(local.date(), year=False)} {said}"


def comes_twice(local: datetime) -> bool:
    """Whether the clocks of an aware moment's zone run through its hour twice.

    >>> from zoneinfo import ZoneInfo
    >>> night = datetime(2026, 10, 25, 0, 30, tzinfo=UTC).astimezone(ZoneInfo("Europe/London"))
    >>> comes_twice(night), comes_twice(night + timedelta(hours=3))
    (True, False)
    """
    return local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()


def whole_minute(moment: datetime) -> datetime:
    """The aware moment in UTC, rounded up to the minute.

    >>> whole_minute(datetime(2026, 1, 1, 12, 0, 1, tzinfo=UTC)).minute
    1
    """
    moment = utc(moment)
    cut = moment.replace(second=0, microsecond=0)
    return cut if cut == moment else cut + timedelta(minutes=1)
