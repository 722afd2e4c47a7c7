"""The figures that an event keeps of the room and of the wait it ended or tested."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from decaljobs.craft.drying import reference_hours
from decaljobs.craft.room.air import Air
from decaljobs.craft.waits import Leg, leg_spans
from decaljobs.models import Decal
from decaljobs.services.bench.outlooks import chain_of
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


def figures_of(decal: Decal, at: datetime, airs: Airs) -> dict[str, Any]:
    """The room's air at a time, and how far the wait was that ran then."""
    found = leg_at(decal, at, airs)
    if found is None:
        return airs.figures(decal.stays or [[at.isoformat(), decal.room_id]], at)
    leg, begins, _ = found
    return wait_figures(leg, airs, decal.stays, airs.of_decal(decal), begins, at)


def leg_at(decal: Decal, at: datetime, airs: Airs) -> tuple[Leg, datetime, datetime | None] | None:
    """The wait on a decal that runs at a time, or else the last to run; its begin and end."""
    chain = chain_of(decal, airs)
    spans = leg_spans(chain.legs, chain.air, chain.start)
    begun = [(leg, *spans[leg.to]) for leg in chain.legs if leg.to in spans]
    running = [row for row in begun if row[2] is None or row[2] >= at]
    return next(iter(running or begun[-1:]), None)
