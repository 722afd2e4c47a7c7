"""What was just logged: told on the next page, with its undoing for as long as it comes last."""

from __future__ import annotations

from collections.abc import Collection, Sequence
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
    photo_href: str = ""


@dataclass(frozen=True)
class JustLogged:
    """What was logged at one go, in words, and the lines of it that still come last.

    elsewhere: how many lines more are not of this page; moved_on: how many no longer come last.
    """

    words: str
    at: datetime
    lines: list[LoggedLine]
    elsewhere: int = 0
    moved_on: int = 0


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
    request: HttpRequest,
    *,
    project: int | None = None,
    decals: Collection[int] | None = None,
    sheet: str | None = None,
) -> JustLogged | None:
    """What was logged last from this device and can still be undone (one query at most).

    Given a project, decals or a sheet: only what was logged on these.
    """
    kept = request.session.get(JUST_LOGGED)
    if not isinstance(kept, dict):
        return None
    anything = project is None and decals is None and sheet is None
    if on_sheet := "sheets" in kept:
        rows = [row for row in kept["sheets"] if anything or row[0] == sheet]
        found = Sheet.objects.filter(code__in=[row[0] for row in rows])
        last = dict(found.values_list("code", "events_logged"))
    else:
        rows = [row for row in kept["decals"] if decals is None or row[0] in decals]
        last = _last_on_decals([row[0] for row in rows], project)
    # Nothing but what was logged since makes a log longer.
    lines = [_line(row, on_sheet) for row in rows if last.get(row[0]) == row[3]]
    if not lines:
        return None
    return JustLogged(
        kept["words"],
        datetime.fromisoformat(kept["at"]),
        lines,
        elsewhere=len(kept["sheets" if on_sheet else "decals"]) - len(last),
        moved_on=len(last) - len(lines),
    )


def _last_on_decals(numbers: Sequence[int], project: int | None) -> dict[int, int]:
    """How many lines the logs of these decals hold now, of one project if that is given."""
    found = Decal.objects.filter(pk__in=numbers)
    if project is not None:
        found = found.filter(project=project)
    return dict(found.values_list("pk", "events_logged"))


def _line(row: Sequence[Any], on_sheet: bool) -> LoggedLine:
    key, label, name, seen = row
    kind = "sheet" if on_sheet else "decal"
    href, undo = reverse(kind, args=[key]), reverse(f"{kind}-undo", args=[key])
    photo = "" if on_sheet else reverse("decal-photos", args=[key])
    return LoggedLine(key, label, name, seen, href, undo, photo)
