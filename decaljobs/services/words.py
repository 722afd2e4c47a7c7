"""Moments as they are said at the bench, in the workshop's zone."""

from datetime import date, datetime

from django.utils import timezone

from decaljobs.craft.moment_words import comes_twice


def say_moment(when: datetime, *, now: datetime, near: bool = True) -> str:
    """A moment in words: 'today 21:40', 'yesterday 06:50', 'Thu 04:20', 'Thu 3 Dec 04:20'.

    near=False leaves out the words that are only true today, as paper wants it. An hour that
    the clocks run through twice is told with its zone: 'today 01:30 GMT'.
    """
    local, today = timezone.localtime(when), timezone.localtime(now).date()
    clock = f"{local:%H:%M} {local.tzname()}" if comes_twice(local) else f"{local:%H:%M}"
    days = (local.date() - today).days
    if near and days in (-1, 0, 1):
        return f"{['today', 'tomorrow', 'yesterday'][days]} {clock}"
    if near and 1 < days < 7:
        return f"{local:%a} {clock}"
    year = "" if local.year == today.year else f" {local.year}"
    return f"{local:%a} {local.day} {local:%b}{year} {clock}"


def say_date(day: date) -> str:
    """A date in words: 'Thu 3 Dec 2026'."""
    return f"{day:%a} {day.day} {day:%b %Y}"
