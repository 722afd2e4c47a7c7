"""Waits as the planner asks for them: when drying that begins at a moment is over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from decaljobs.craft.drying import WaitTerms, ready_at_many
from decaljobs.craft.room.air import Air

#: Minutes worked out together: asked one by one, a plan of hundreds of tasks would take minutes.
BLOCK = 60
_MINUTES = [timedelta(minutes=minute) for minute in range(BLOCK)]


@dataclass(frozen=True, slots=True)
class Until:
    """A wait that runs already and is over at ``moment`` (UTC).

    >>> from datetime import UTC
    >>> Until(datetime(2026, 1, 2, tzinfo=UTC))(datetime(2026, 1, 1, tzinfo=UTC)).day
    2
    """

    moment: datetime

    def __call__(self, start: datetime) -> datetime:
        return max(start, self.moment)


@dataclass(frozen=True, slots=True)
class Never:
    """A wait that never ends, in a room too cold or too damp.

    >>> from datetime import UTC
    >>> Never()(datetime(2026, 1, 1, tzinfo=UTC)) is None
    True
    """

    def __call__(self, start: datetime) -> datetime | None:
        return None


@dataclass(frozen=True, slots=True)
class Drying:
    """Waits that run one after the other in the expected air of a room.

    Called with an aware moment it answers when the last of them is over (UTC), None where one
    never ends. Two of the same terms in the same air are equal, so a planner asks only one.

    >>> from datetime import UTC
    >>> from decaljobs.craft.climate import Clock
    >>> from decaljobs.craft.drying import STANDARD_AIR
    >>> base = Drying((WaitTerms(12, 8, Clock.WATER),), STANDARD_AIR)
    >>> base(datetime(2026, 1, 1, 20, tzinfo=UTC)).hour
    8
    """

    terms: tuple[WaitTerms, ...]
    air: Air = field(repr=False)
    _known: dict[datetime, datetime | None] = field(default_factory=dict, compare=False, repr=False)

    def __call__(self, start: datetime) -> datetime | None:
        if start not in self._known:
            self._work_out([start + minutes for minutes in _MINUTES])
        return self._known[start]

    def _work_out(self, starts: Sequence[datetime]) -> None:
        """The ends of a whole hour of beginnings, leg after leg."""
        ends: dict[datetime, datetime | None] = dict(zip(starts, starts, strict=True))
        for terms in self.terms:
            running = {start: end for start, end in ends.items() if end is not None}
            over = ready_at_many(terms, self.air, list(running.values()))
            ends |= dict(zip(running, over, strict=True))
        self._known.update(ends)
