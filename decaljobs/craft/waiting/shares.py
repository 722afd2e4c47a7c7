"""How far many waits are at one moment: a page of rows, each clock asked once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from decaljobs.craft.drying import WaitTerms, clock_of, share_over
from decaljobs.craft.moments import utc
from decaljobs.craft.room.air import Air


@dataclass(frozen=True, slots=True)
class Share:
    """Reference hours done and asked of a wait, and the share of it that is over, 0 to 1."""

    done_hours: float
    of_hours: float
    fraction: float


@dataclass(frozen=True, slots=True)
class Span:
    """A wait's terms, when it began, when it is over (both aware; None: never), and the hours
    that touch tests have added.
    """

    terms: WaitTerms
    start: datetime
    ready: datetime | None
    extra_reference_hours: float = 0.0


def shares_at(spans: Sequence[Span], air: Air, moment: datetime) -> list[Share]:
    """How far each wait is at an aware moment, hours and shares as `progress` tells them.

    The ready moments are taken as given, by `ready_at` under the same terms and air. Raises
    ValueError for a naive moment.

    >>> from datetime import UTC, timedelta
    >>> from decaljobs.craft.climate import Clock
    >>> from decaljobs.craft.drying import STANDARD_AIR
    >>> start = datetime(2026, 1, 1, tzinfo=UTC)
    >>> span = Span(WaitTerms(12, 8, Clock.WATER), start, start + timedelta(hours=12))
    >>> shares_at([span], STANDARD_AIR, start + timedelta(hours=3))
    [Share(done_hours=3.0, of_hours=12.0, fraction=0.25)]
    """
    moment = utc(moment)
    by_clock: dict[object, list[int]] = {}
    for place, span in enumerate(spans):
        by_clock.setdefault(span.terms.clock_key, []).append(place)
    shares: dict[int, Share] = {}
    for places in by_clock.values():
        starts = [min(utc(spans[place].start), moment) for place in places]
        hours = clock_of(spans[places[0]].terms, air).hours_until([*starts, moment])
        for place, done in zip(places, hours[-1] - hours[:-1], strict=True):
            shares[place] = _share(spans[place], float(done), moment)
    return [shares[place] for place in range(len(spans))]


def _share(span: Span, done: float, moment: datetime) -> Share:
    terms = span.terms
    of_hours = terms.reference_hours + span.extra_reference_hours
    if span.ready is not None and moment >= span.ready:
        return Share(done, of_hours, 1.0)
    return Share(done, of_hours, share_over(terms, done, of_hours, moment - span.start))
