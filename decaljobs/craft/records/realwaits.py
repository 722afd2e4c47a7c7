"""Waits as they really were, read from a log: what drying asked for, and how long a thing lay."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median

from decaljobs.craft.waits import WaitKind

HOUR = timedelta(hours=1)
#: With fewer waits than this a median says more about chance than about the bench (a choice).
FEWEST = 5


@dataclass(frozen=True)
class WaitLine:
    """A line of a log that ends or tests a wait begun at `since` (all UTC).

    done, of: reference hours that had counted by then, and that were asked for. by_clock: written
    down because drying was over, with nothing done by hand. not_yet: the finger said so.
    """

    thing: str
    kind: WaitKind | None
    since: datetime | None
    at: datetime
    done: float = 0.0
    of: float = 0.0
    by_clock: bool = False
    not_yet: bool = False
    early: bool = False


@dataclass(frozen=True)
class RealWait:
    """One wait: hours that drying took in its air (None where unknown), and hours it lay."""

    thing: str
    kind: WaitKind
    since: datetime
    asked: float | None
    lay: float
    early: bool
    not_yet: int = 0


def waits_lain(lines: Sequence[WaitLine]) -> list[RealWait]:
    """The waits of one decal or sheet, from its lines in order of time.

    Where the clock wrote down that drying was over, that is what drying asked for, and the thing
    lay until hands went on. Else the hours asked for are those it lay, scaled by the reference
    hours asked for and counted: exact in steady air.

    >>> from datetime import UTC
    >>> start = datetime(2026, 1, 1, 20, tzinfo=UTC)
    >>> lines = [WaitLine("Bow", WaitKind.BASE_CURED, start, start + 12 * HOUR, 12, 12, True),
    ...          WaitLine("Bow", None, None, start + 20 * HOUR)]
    >>> [(wait.asked, wait.lay) for wait in waits_lain(lines)]
    [(12.0, 20.0)]
    """
    found: list[RealWait] = []
    dried: tuple[WaitLine, WaitKind, datetime] | None = None
    not_yet = 0
    for line in lines:
        if line.not_yet:
            not_yet += 1
            continue
        if dried is not None:
            end = line.since if line.kind and line.since else line.at
            found.append(_wait(*dried, end, not_yet, early=line.early))
            dried, not_yet = None, 0
        if line.kind is None or line.since is None:
            continue
        begun = line, line.kind, line.since
        if line.by_clock:
            dried = begun
            continue
        found.append(_wait(*begun, line.at, not_yet, early=line.early))
        not_yet = 0
    return found


def _wait(
    line: WaitLine, kind: WaitKind, since: datetime, end: datetime, not_yet: int, *, early: bool
) -> RealWait:
    lay = (end - since) / HOUR
    asked: float | None = (line.at - since) / HOUR
    if not line.by_clock:
        asked = lay * line.of / line.done if line.done > 0 else None
    return RealWait(line.thing, kind, since, asked, lay, early, not_yet)


@dataclass(frozen=True)
class WaitSummary:
    """All waits of one kind: medians of hours asked for and lain, and how they ended."""

    kind: WaitKind
    number: int
    asked: float | None
    lay: float
    early: int
    not_yet: int

    @property
    def is_too_few(self) -> bool:
        """Whether there are too few for the medians to be shown."""
        return self.number < FEWEST


def summed_up(waits: Iterable[RealWait]) -> list[WaitSummary]:
    """The waits by kind, in the order of the chain of steps; medians in hours.

    >>> from datetime import UTC
    >>> start = datetime(2026, 1, 1, 20, tzinfo=UTC)
    >>> lain = [14.0, 20.0, 38.0]
    >>> (cured,) = summed_up(
    ...     RealWait("Bow", WaitKind.BASE_CURED, start, 12.0, hours, False) for hours in lain)
    >>> cured.number, cured.asked, cured.lay, cured.is_too_few
    (3, 12.0, 20.0, True)
    """
    kinds: dict[WaitKind, list[RealWait]] = {}
    for wait in waits:
        kinds.setdefault(wait.kind, []).append(wait)
    return [_summary(kind, kinds[kind]) for kind in WaitKind if kind in kinds]


def _summary(kind: WaitKind, waits: Sequence[RealWait]) -> WaitSummary:
    asked = [wait.asked for wait in waits if wait.asked is not None]
    return WaitSummary(
        kind,
        len(waits),
        median(asked) if asked else None,
        median(wait.lay for wait in waits),
        sum(wait.early for wait in waits),
        sum(wait.not_yet for wait in waits),
    )
