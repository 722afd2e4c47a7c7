"""Moments and lengths of time in the words of the plan page."""

from collections.abc import Iterable
from datetime import datetime, timedelta, tzinfo

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
#: So long ahead a weekday alone is clear.
CLEAR = timedelta(days=6)


def moment_in_words(moment: datetime, seen_from: datetime, zone: tzinfo) -> str:
    """A UTC moment as the clock on the wall shows it, with the date where a weekday is not clear.

    >>> from datetime import UTC
    >>> now = datetime(2026, 3, 4, 18, 0, tzinfo=UTC)
    >>> moment_in_words(datetime(2026, 3, 5, 7, 40, tzinfo=UTC), now, UTC)
    'Thu 07:40'
    >>> moment_in_words(datetime(2026, 3, 12, 7, 40, tzinfo=UTC), now, UTC)
    'Thu 12 Mar 07:40'
    """
    local = moment.astimezone(zone)
    day = WEEKDAYS[local.weekday()]
    if not timedelta(0) <= local.date() - seen_from.astimezone(zone).date() <= CLEAR:
        day = f"{day} {local.day} {MONTHS[local.month - 1]}"
    return f"{day} {local:%H:%M}"


def listed(names: Iterable[str], most: int = 3) -> str:
    """Names in a row, cut after `most` (at least 1).

    >>> listed(["wing", "tail", "nose", "fin"])
    'wing, tail, nose and 1 more'
    """
    names = list(names)
    if len(names) <= most:
        return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))
    return f"{', '.join(names[:most])} and {len(names) - most} more"
