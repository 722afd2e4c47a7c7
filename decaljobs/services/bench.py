"""What the bench holds at a moment: what is ready, what dries, what is held and why."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from decaljobs.craft.stages import Hold
from decaljobs.models import Decal
from decaljobs.services.waiting import wait_of_decal


@dataclass(frozen=True)
class BenchEntry:
    """One decal on the bench, in plain values; ready_at in UTC, progress 0 to 1."""

    project: str
    decal: str
    stage: str
    next: str
    ready_at: datetime | None
    progress: float | None
    reason: str


def bench_at(*, moment: datetime) -> dict[str, list[BenchEntry]]:
    """The whole bench at a moment by 'ready', 'drying' and 'held' (9 queries for any number)."""
    decals = Decal.objects.for_rows()
    return {
        "ready": _entries(decals.ready_at(moment), moment),
        "drying": _entries(decals.drying_at(moment), moment),
        "held": _entries(decals.held(), moment),
    }


def _entries(decals: Iterable[Decal], moment: datetime) -> list[BenchEntry]:
    return [_entry(decal, moment) for decal in decals]


def _entry(decal: Decal, moment: datetime) -> BenchEntry:
    wait = wait_of_decal(decal, moment)
    how_far = wait.progress(moment) if wait else None
    if decal.held_because:
        reason = Hold(decal.held_because).words
    elif wait:
        reason = wait.words(moment)
    else:
        reason = "dry enough for the next step"
    return BenchEntry(
        project=decal.project.code,
        decal=decal.words,
        stage=decal.stage_now(moment).value,
        next=decal.next_step,
        ready_at=decal.ready_at,
        progress=round(how_far.fraction, 4) if how_far else None,
        reason=reason,
    )
