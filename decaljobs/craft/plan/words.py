"""Moments and lengths of time in the words of the plan page."""

import re
from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta, tzinfo

from decaljobs.craft.ways import MONTHS, WEEKDAYS

#: So long ahead a weekday alone is clear.
CLEAR = timedelta(days=6)
_STAMP = re.compile(r"⟨(day )?(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\+00:00)⟩")


def moment_in_words(moment: datetime, seen_from: datetime, zone: tzinfo | None) -> str:
    """A UTC moment as the clock on the wall shows it, with the date where a weekday is not clear.

    Without a zone it is stamped, for `with_moments` to say to whoever reads it later.

    >>> from datetime import UTC
    >>> now = datetime(2026, 3, 4, 18, 0, tzinfo=UTC)
    >>> moment_in_words(datetime(2026, 3, 5, 7, 40, tzinfo=UTC), now, UTC)
    'Thu 07:40'
    >>> moment_in_words(datetime(2026, 3, 12, 7, 40, tzinfo=UTC), now, UTC)
    'Thu 12 Mar 07:40'
    >>> moment_in_words(datetime(2026, 3, 5, 7, 40, tzinfo=UTC), now, None)
    '⟨2026-03-05T07:40:00+00:00⟩'
    """
    if zone is None:
        return f"⟨{moment.astimezone(UTC).replace(microsecond=0).isoformat()}⟩"
    local = moment.astimezone(zone)
    day = WEEKDAYS[local.weekday()]
    if not timedelta(0) <= local.date() - seen_from.astimezone(zone).date() <= CLEAR:
        day = f"{day} {local.day} {MONTHS[local.month - 1]}"
    return f"{day} {local:%H:%M}"


def day_in_words(moment: datetime, zone: tzinfo | None) -> str:
    """The day of a UTC moment, such as a due date, whose hour says nothing; stamped without a zone.

    >>> from datetime import UTC
    >>> day_in_words(datetime(2026, 3, 5, 23, 59, tzinfo=UTC), UTC)
    'Thu 5 Mar'
    >>> day_in_words(datetime(2026, 3, 5, 23, 59, tzinfo=UTC), None)
    '⟨day 2026-03-05T23:59:00+00:00⟩'
    """
    if zone is None:
        return f"⟨day {moment.astimezone(UTC).replace(microsecond=0).isoformat()}⟩"
    local = moment.astimezone(zone)
    return f"{WEEKDAYS[local.weekday()]} {local.day} {MONTHS[local.month - 1]}"


def with_moments(
    words: str, say: Callable[[datetime], str], say_day: Callable[[datetime], str]
) -> str:
    """Words with each stamped moment and day said.

    >>> clock, day = "{:%H:%M}".format, "{:%d.%m.}".format
    >>> with_moments("dries until ⟨2026-03-05T07:40:00+00:00⟩", clock, day)
    'dries until 07:40'
    >>> with_moments("due ⟨day 2026-03-05T23:59:00+00:00⟩", clock, day)
    'due 05.03.'
    """

    def said(found: re.Match[str]) -> str:
        try:
            return (say_day if found[1] else say)(datetime.fromisoformat(found[2]))
        except ValueError:  # no moment: somebody's own words
            return found[0]

    return _STAMP.sub(said, words)


def listed(names: Iterable[str], most: int = 3) -> str:
    """Names in a row, cut after `most` (at least 1).

    >>> listed(["wing", "tail", "nose", "fin"])
    'wing, tail, nose and 1 more'
    """
    names = list(names)
    if len(names) <= most:
        return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))
    return f"{', '.join(names[:most])} and {len(names) - most} more"
