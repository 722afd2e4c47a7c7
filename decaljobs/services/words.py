"""Moments as they are said at the bench, in the workshop's zone."""

from datetime import datetime, timedelta

from django.utils import timezone


def say_moment(when: datetime, *, now: datetime) -> str:
    """A moment in words: 'today 21:40', 'yesterday 06:50', 'Thu 04:20', 'Thu 3 Dec 04:20'."""
    local, today = timezone.localtime(when), timezone.localtime(now).date()
    clock = f"{local:%H:%M}"
    days = (local.date() - today).days
    near = {0: "today", 1: "tomorrow", -1: "yesterday"}.get(days)
    if near:
        return f"{near} {clock}"
    if timedelta(0) < local.date() - today < timedelta(days=7):
        return f"{local:%a} {clock}"
    year = "" if local.year == today.year else f" {local.year}"
    return f"{local:%a} {local.day} {local:%b}{year} {clock}"
