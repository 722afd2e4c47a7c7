"""What was just logged: told on the next page, with its undoing for as long as it comes last."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.http import HttpRequest
from django.urls import reverse

from decaljobs.models import Decal, Sheet, SheetEvent, StageEvent
from decaljobs.views.once import JUST_LOGGED


@dataclass(frozen=True)
class LoggedLine:
    """One line of a log that an undo would take back."""

    key: int | str
    label: str
    name: str
    seen: int
    href: str
    undo_href: str


@dataclass(frozen=True)
class JustLogged:
    """What was logged at one go, in words, and the lines of it that still come last."""

    words: str
    at: datetime
    lines: list[LoggedLine]
    sheets: bool


def remember(request: HttpRequest, events: Sequence[StageEvent]) -> None:
    """Have the next pages say what was logged on decals."""
    label = events[0].words
    many = f"{label}: {len(events)} decals"
    request.session[JUST_LOGGED] = {
        "words": many if len(events) > 1 else f"{label}: {events[0].decal.words}.",
        "at": events[0].at.isoformat(),
        "decals": [[e.decal_id, e.words, e.decal.words, e.number] for e in events],
    }


def remember_sheet(request: HttpRequest, sheet: Sheet, event: SheetEvent) -> None:
    """Have the next pages say what was logged on a sheet."""
    request.session[JUST_LOGGED] = {
        "words": f"Sheet {sheet}: {event.words.lower()} logged.",
        "at": event.at.isoformat(),
        "sheets": [[sheet.code, event.words, f"Sheet {sheet}", event.number]],
    }


def just_logged(
    request: HttpRequest, *, project: int | None = None, **only: Any
) -> JustLogged | None:
    """What was logged last from this device and can still be undone (one query at most).

    project, decal, sheet: only what was logged there.
    """
    kept = request.session.get(JUST_LOGGED)
    if not isinstance(kept, dict):
        return None
    on_sheets = "sheets" in kept
    rows = kept["sheets" if on_sheets else "decals"]
    wanted = only.get("sheet") if on_sheets else only.get("decal")
    if only or (project and on_sheets):
        rows = [row for row in rows if row[0] == wanted]
    last = _last_on_sheets(rows) if on_sheets else _last_on_decals(rows, project)
    lines = [_line(row, on_sheets) for row in rows if last.get(row[0]) == row[3]]
    at = datetime.fromisoformat(kept["at"])
    return JustLogged(kept["words"], at, lines, on_sheets) if lines else None


def _last_on_decals(rows: Sequence[Sequence[Any]], project: int | None) -> dict[Any, int]:
    """How many lines the logs hold now; nothing but what was logged since has more."""
    if not rows:
        return {}
    found = Decal.objects.filter(pk__in=[row[0] for row in rows])
    if project is not None:
        found = found.filter(project=project)
    return dict(found.values_list("pk", "events_logged"))


def _last_on_sheets(rows: Sequence[Sequence[Any]]) -> dict[Any, int]:
    if not rows:
        return {}
    found = Sheet.objects.filter(code__in=[row[0] for row in rows])
    return dict(found.values_list("code", "events_logged"))


def _line(row: Sequence[Any], on_sheet: bool) -> LoggedLine:
    key, label, name, seen = row
    kind = "sheet" if on_sheet else "decal"
    href, undo = reverse(kind, args=[key]), reverse(f"{kind}-undo", args=[key])
    return LoggedLine(key, label, name, seen, href, undo)
