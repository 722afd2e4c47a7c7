"""Bench hours: a weekly pattern with exceptions, in the workshop's zone, as UTC sessions.

The clock on the wall counts: a session from 19:00 to 22:00 stays so on both sides of a clock
change, and one that spans the change is an hour longer or shorter. Of an hour that the clock
shows twice the first is meant; an hour that it skips is read as the one after it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from itertools import combinations

from decaljobs.craft.plan.bars import joined
from decaljobs.craft.plan.tasks import Session
from decaljobs.craft.ways import PLAIN, WEEKDAYS, Ways

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class WeeklyHours:
    """One stretch of every week: weekday 0 (Monday) to 6, wall-clock start and end.

    An end at or before the start lies on the next day; equal times are refused.
    """

    weekday: int
    start: time
    end: time

    def __post_init__(self) -> None:
        if not 0 <= self.weekday <= 6:
            raise ValueError(f"weekday must be 0 (Monday) to 6 (Sunday), not {self.weekday}")
        if self.start == self.end:
            raise ValueError(f"bench hours must not start and end at the same time, {self.start}")


@dataclass(frozen=True, slots=True)
class BenchException:
    """One day that differs: no hours at all (start and end None), or an extra session.

    A closed day drops the pattern's hours of that day; extra sessions still stand. Raises
    ValueError for a start without an end, or both at one time.
    """

    day: date
    start: time | None = None
    end: time | None = None

    def __post_init__(self) -> None:
        if (self.start is None) != (self.end is None):
            raise ValueError("an extra session needs both a start and an end")
        if self.start is not None and self.start == self.end:
            raise ValueError(f"an extra session must not start and end at {self.start}")

    @property
    def closed(self) -> bool:
        """Whether the day's pattern falls out."""
        return self.start is None


#: Mon to Fri 19:00–22:00, Sat 9:00–13:00: where a new workshop starts (a choice).
FIRST_PATTERN = (
    *(WeeklyHours(day, time(19), time(22)) for day in range(5)),
    WeeklyHours(5, time(9), time(13)),
)


def sessions_between(
    pattern: Sequence[WeeklyHours],
    exceptions: Sequence[BenchException],
    since: datetime,
    until: datetime,
    zone: tzinfo,
    maker: str,
) -> tuple[Session, ...]:
    """A maker's UTC sessions that end after ``since`` and start before ``until``, in order.

    Hours that overlap or touch become one session. Raises ValueError for moments without a zone.

    >>> from zoneinfo import ZoneInfo
    >>> london = ZoneInfo("Europe/London")
    >>> since = datetime(2026, 3, 28, tzinfo=UTC)  # London's clocks go forward on the 29th
    >>> pattern = [WeeklyHours(day, time(19), time(22)) for day in (5, 6)]
    >>> found = sessions_between(pattern, [], since, since + 3 * DAY, london, "A")
    >>> [session.start.hour for session in found]
    [19, 18]
    """
    if since.tzinfo is None or until.tzinfo is None:
        raise ValueError("since and until must carry their zone, in UTC")
    day = since.astimezone(zone).date() - DAY
    last = until.astimezone(zone).date()
    spans = []
    while day <= last:
        spans += [
            _span(day, start, end, zone) for start, end in _hours_of(day, pattern, exceptions)
        ]
        day += DAY
    stretches = joined((start, end) for start, end in spans if start < end)
    return tuple(
        Session(maker, start, end) for start, end in stretches if end > since and start < until
    )


def _hours_of(
    day: date, pattern: Iterable[WeeklyHours], exceptions: Iterable[BenchException]
) -> Iterator[tuple[time, time]]:
    exceptions = [exception for exception in exceptions if exception.day == day]
    if not any(exception.closed for exception in exceptions):
        yield from ((hours.start, hours.end) for hours in pattern if hours.weekday == day.weekday())
    for exception in exceptions:
        if exception.start is not None and exception.end is not None:
            yield exception.start, exception.end


def _span(day: date, start: time, end: time, zone: tzinfo) -> tuple[datetime, datetime]:
    end_day = day if end > start else day + DAY
    return _utc(day, start, zone), _utc(end_day, end, zone)


def _utc(day: date, clock: time, zone: tzinfo) -> datetime:
    return datetime.combine(day, clock, zone).astimezone(UTC)


def overlapping_hours(pattern: Sequence[WeeklyHours], ways: Ways = PLAIN) -> tuple[str, ...]:
    """A sentence for each pair of weekly hours that overlap; none if all is well.

    >>> overlapping_hours([WeeklyHours(0, time(19), time(22)), WeeklyHours(0, time(21), time(23))])
    ('Mon 19:00–22:00 and Mon 21:00–23:00 overlap.',)
    """
    return tuple(
        f"{hours_in_words(one, ways)} and {hours_in_words(other, ways)} overlap."
        for one, other in combinations(pattern, 2)
        if _overlap(one, other) or _overlap(other, one)
    )


def hours_in_words(hours: WeeklyHours, ways: Ways = PLAIN) -> str:
    """Weekly hours as the page writes them.

    >>> hours_in_words(WeeklyHours(0, time(19), time(22)))
    'Mon 19:00–22:00'
    """
    return f"{WEEKDAYS[hours.weekday]} {ways.stretch(hours.start, hours.end)}"


def _overlap(one: WeeklyHours, other: WeeklyHours) -> bool:
    """Whether ``other`` starts while ``one`` runs; the week is a ring."""
    length = (_minute(one.end) - _minute(one.start)) % (24 * 60)
    between = (other.weekday - one.weekday) * 24 * 60 + _minute(other.start) - _minute(one.start)
    return between % (7 * 24 * 60) < length


def _minute(clock: time) -> float:
    return clock.hour * 60 + clock.minute + clock.second / 60
