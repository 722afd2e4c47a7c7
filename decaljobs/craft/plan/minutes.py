"""Minutes of work learned from a maker's own log: the median of the gaps between its lines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import median

from decaljobs.craft.doings import LEAST_MINUTES, MOST_MINUTES, Doing

#: A gap longer than this between two lines was not all work (a choice).
LONGEST_GAP = timedelta(minutes=90)
#: So many gaps are needed before their median counts (a choice).
FEWEST_GAPS = 5
#: What is learned: before a coat or a print the maker may have waited for something to dry.
TAUGHT = frozenset({Doing.BASE, Doing.CLEAR})


@dataclass(frozen=True, slots=True)
class Mark:
    """A moment (UTC) at which a maker logged work of one kind, as it was done."""

    at: datetime
    doing: Doing


@dataclass(frozen=True, slots=True)
class Learned:
    """Minutes for one piece of work, and how many gaps of the log they are the median of."""

    minutes: int
    gaps: int


def learned_minutes(logs: Iterable[Sequence[Mark]]) -> dict[Doing, Learned]:
    """Whole minutes for each kind of work (1 to 600) of which the logs hold enough.

    Each log is one maker's. The time since the line before, if at most 90 minutes, went into
    what is logged; lines of one moment share it. Fewer than five such gaps teach nothing, and
    only laying is learned.

    >>> from datetime import UTC
    >>> start = datetime(2026, 1, 1, 19, tzinfo=UTC)
    >>> evening = [Mark(start + timedelta(minutes=12 * n), Doing.BASE) for n in range(6)]
    >>> learned_minutes([evening])[Doing.BASE]
    Learned(minutes=12, gaps=5)
    """
    found: dict[Doing, list[float]] = {}
    for log in logs:
        for doing, minutes in _gaps(log):
            found.setdefault(doing, []).append(minutes)
    return {
        doing: Learned(_whole(median(gaps)), len(gaps))
        for doing, gaps in found.items()
        if len(gaps) >= FEWEST_GAPS
    }


def _gaps(log: Sequence[Mark]) -> Iterable[tuple[Doing, float]]:
    moments: dict[datetime, list[Doing]] = {}
    for mark in sorted(log, key=lambda mark: mark.at):
        moments.setdefault(mark.at, []).append(mark.doing)
    for (before, _), (at, doings) in pairwise(moments.items()):
        gap = at - before
        # Two kinds at one moment: nobody can say which of them took how long.
        if gap <= LONGEST_GAP and len(set(doings)) == 1 and doings[0] in TAUGHT:
            yield doings[0], gap / timedelta(minutes=1) / len(doings)


def _whole(minutes: float) -> int:
    return min(MOST_MINUTES, max(LEAST_MINUTES, round(minutes)))
