"""Moments and dates as they are said at the bench, in the ways of whoever reads them."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from django.utils import timezone

from decaljobs.craft.figures import short
from decaljobs.craft.moments import comes_twice, whole_minute
from decaljobs.craft.plan.words import with_moments
from decaljobs.craft.ways import WEEKDAYS, Ways
from decaljobs.shown import ways


def say_moment(when: datetime, *, now: datetime, near: bool = True) -> str:
    """A moment in words: 'today 21:40', 'yesterday 06:50', 'Thu 04:20', 'Thu 3 Dec 04:20'.

    near=False leaves out the words that are only true today, as paper wants it, and keeps to the
    workshop's zone and 24 hours: paper is read by everybody. An hour that the clocks run through
    twice is told with its zone: 'today 01:30 GMT'.
    """
    zone = timezone.get_current_timezone() if near else timezone.get_default_timezone()
    reader = ways() if near else Ways()
    local, today = timezone.localtime(when, zone), timezone.localtime(now, zone).date()
    clock = reader.clock(local.time()) + (f" {local.tzname()}" if comes_twice(local) else "")
    days = (local.date() - today).days
    if near and days in (-1, 0, 1):
        return f"{['today', 'tomorrow', 'yesterday'][days]} {clock}"
    if near and 1 < days < 7:
        return f"{WEEKDAYS[local.weekday()]} {clock}"
    return f"{reader.day(local.date(), year=local.year != today.year)} {clock}"


def until(ends: datetime | None, now: datetime) -> str:
    """When a wait is over, to the full minute after: told early, the step would be refused."""
    return say_moment(whole_minute(ends), now=now) if ends else ""


def say_ready(when: datetime | None, *, now: datetime) -> str:
    """When a wait is over, in words; 'never, in this room' where it is too cold or too damp."""
    return say_moment(when, now=now) if when else "never, in this room"


def say_stamped(words: str, *, now: datetime) -> str:
    """A sentence of the plan, whose moments are stamped, as it is said at the bench."""
    return with_moments(
        words, lambda moment: say_moment(moment, now=now), lambda moment: _say_day(moment, now)
    )


def _say_day(when: datetime, now: datetime) -> str:
    """A day that ends by the workshop's clock whoever reads it; its year where it is another."""
    day, today = (
        timezone.localtime(moment, timezone.get_default_timezone()).date() for moment in (when, now)
    )
    return say_date(day, year=day.year != today.year)


def say_date(day: date, *, weekday: bool = True, year: bool = True) -> str:
    """A date in words: 'Thu 3 Dec 2026'."""
    return ways().day(day, weekday=weekday, year=year)


def say_figure(value: float | Decimal) -> str:
    """A figure to two decimals at most, without idle zeros: 12, 7.5."""
    return short(value)


def say_clock(when: datetime) -> str:
    """A time of day: '21:40'."""
    return ways().clock(timezone.localtime(when).time())


def say_full(when: datetime) -> str:
    """A moment that may be long past, in full: 'Thu 3 Dec 2026 04:20'."""
    return f"{say_date(timezone.localtime(when).date())} {say_clock(when)}"
