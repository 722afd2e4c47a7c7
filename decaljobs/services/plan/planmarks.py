"""The state of the records that a plan is made from, so that a page can say what changed since."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Max

from decaljobs.models import (
    BenchDay,
    BenchHours,
    Decal,
    Piece,
    PlanPin,
    Project,
    Room,
    Sheet,
    SheetEvent,
    StageEvent,
    StepMinutes,
    WaitRule,
)

#: So long after its planned end a task may still be on its way (a choice).
GRACE = timedelta(minutes=15)
#: What has changed, in words for the page, by the name of its mark.
WORDS = {
    "log": "something was logged",
    "decals": "decals were added, changed or dropped",
    "waits": "drying times have moved",
    "projects": "a project or its due date was changed",
    "sheets": "sheets or their pieces were changed",
    "rules": "a drying rule was changed",
    "rooms": "a room or its readings were changed",
    "hours": "bench hours were changed",
    "minutes": "minutes of work were changed",
    "pins": "a task was pinned or let go",
}
_OF_PROJECTS = ("name", "due", "weight", "overcoat", "archived_at", "binned_at")
#: What a line in the log moves along with it, and needs no words of its own then.
WITH_THE_LOG = ("waits", "sheets", "pins")


def marks() -> dict[str, str]:
    """A mark for each kind of record (twelve queries for any number)."""
    open_decals = Decal.objects.exclude(next_step="").order_by("pk")
    waits = open_decals.values_list("pk", "next_step", "ready_at", "turns_at", "held_because")
    return {
        "log": _mark([_last(StageEvent), _last(SheetEvent)]),
        "decals": _mark(_columns(Decal, "project", "place", "build", "room")),
        "waits": _mark(waits),
        "projects": _mark(_columns(Project, *_OF_PROJECTS)),
        "sheets": _mark([*_sheets(), *Piece.objects.good().order_by("pk").values_list("pk")]),
        "rules": _mark(WaitRule.objects.order_by("pk").values_list()),
        "rooms": _mark(_columns(Room, "is_default", "air_mark")),
        "hours": _mark([*_of_makers(BenchHours), "and", *_of_makers(BenchDay)]),
        "minutes": _mark(_columns(StepMinutes, "minutes")),
        "pins": _mark(_columns(PlanPin, "work", "person", "starts_at")),
    }


def changes(before: Mapping[str, str], now: Mapping[str, str]) -> list[str]:
    """What changed between two states, in words."""
    changed = [name for name in WORDS if before.get(name) != now.get(name)]
    if "log" in changed:
        changed = [name for name in changed if name not in WITH_THE_LOG]
    return [WORDS[name] for name in changed]


def passed_by(found: Mapping[str, Any], moment: datetime) -> list[str]:
    """Whether time has passed a plan by, in words: a task whose time is over still stands in it."""
    ends = [task["end"] for session in found.get("sessions", []) for task in session["tasks"]]
    overdue = any(datetime.fromisoformat(end) + GRACE <= moment for end in ends)
    return ["the time of a planned task has passed"] if overdue else []


def _last(events: Any) -> Any:
    return events.objects.aggregate(last=Max("pk"))["last"]


def _columns(model: Any, *names: str) -> Any:
    return model.objects.order_by("pk").values_list("pk", *names)


def _sheets() -> Any:
    return _columns(Sheet, "printer", "sealer", "coats_wanted", "rested_at", "room", "lost_at")


def _of_makers(model: Any) -> Any:
    columns = [field.attname for field in model._meta.concrete_fields if field.name != "note"]
    return model.objects.of_makers().order_by("pk").values_list(*columns[1:])


def _mark(rows: Any) -> str:
    return hashlib.sha256(repr(list(rows)).encode()).hexdigest()[:16]
