"""What the bench holds at a moment: what is ready, what dries, what is held and why."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from decaljobs.craft.stages import Hold
from decaljobs.models import Decal
from decaljobs.services.drying.air import Airs
from decaljobs.services.drying.waiting import wait_of_decal


@dataclass(frozen=True)
class BenchEntry:
    """One decal on the bench, in plain values; ready_at in UTC.

    progress: how far the wait before the next step is, 0 to 1; None where something is missing.
    """

    project: str
    decal: str
    stage: str
    next: str
    ready_at: datetime | None
    progress: float | None
    reason: str


def bench_at(*, moment: datetime) -> dict[str, list[BenchEntry]]:
    """The whole bench at a moment by 'ready', 'drying' and 'held' (10 queries for any number,
    and one for each room's readings)."""
    made = Decal.objects.filter(made_at__lte=moment)
    decals, airs = made.at_work().for_rows(), Airs()
    return {
        "ready": _entries(decals.ready_at(moment), moment, airs),
        "drying": _entries(decals.drying_at(moment), moment, airs),
        "held": _entries(decals.held(), moment, airs),
    }


def _entries(decals: Iterable[Decal], moment: datetime, airs: Airs) -> list[BenchEntry]:
    found = list(decals)
    airs.reach_back(decal.stage_at for decal in found if decal.waits)
    return [_entry(decal, moment, airs) for decal in found]


def _entry(decal: Decal, moment: datetime, airs: Airs) -> BenchEntry:
    wait = wait_of_decal(decal, moment, airs)
    progress = round(wait.progress(moment).fraction, 4) if wait else None
    if decal.held_because:
        reason = Hold(decal.held_because).words
    elif wait:
        reason = wait.told(moment).sentence
    else:
        progress, reason = 1.0, "dry enough for the next step"
    return BenchEntry(
        project=decal.project.code,
        decal=decal.words,
        stage=decal.stage_now(moment).value,
        next=decal.next_step,
        ready_at=decal.ready_at,
        progress=progress,
        reason=reason,
    )
