"""The figures that an event keeps of the room and of the wait it ended or tested."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from decaljobs.craft.drying import Air, reference_hours
from decaljobs.craft.waits import Leg
from decaljobs.services.drying.air import Airs, Stays


def wait_figures(
    leg: Leg, airs: Airs, stays: Stays, air: Air, start: datetime, at: datetime
) -> dict[str, Any]:
    """The room's air at a time, with how far a wait begun at `start` was then."""
    done = reference_hours(leg.terms, air, start, max(start, at))
    return airs.figures(stays, at) | {
        "wait": leg.kind.value,
        "since": start.isoformat(),
        "done_hours": round(done, 4),
        "of_hours": leg.terms.reference_hours + leg.extra_hours,
        "terms": leg.terms.to_dict(),
    }
