"""Waits as they really were, beside what drying asked for: of a project, and of the newest work."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from itertools import groupby
from typing import Any

from django.db.models import Min, QuerySet

from decaljobs.craft.records.realwaits import HOUR, RealWait, WaitLine, waits_lain
from decaljobs.craft.waits import WaitKind
from decaljobs.models import Project, Sheet, SheetEvent, StageEvent

#: The newest lines of each log that all waits are told from.
LINES_READ = 2000
TOLD = (StageEvent.Kind.STEP, StageEvent.Kind.NOT_YET)
TOLD_OF_SHEETS = (SheetEvent.Kind.COAT, SheetEvent.Kind.DRY, SheetEvent.Kind.NOT_YET)


def waits_of(project: Project) -> list[RealWait]:
    """Every wait of a project's decals and sheets, in order of time (four queries)."""
    events = StageEvent.objects.in_force().filter(decal__project=project, kind__in=TOLD)
    lines = events.exclude(how=StageEvent.How.SHEET)
    sheets = Sheet.objects.filter(pieces__decal__project=project).distinct()
    of_sheets = SheetEvent.objects.in_force().filter(sheet__in=sheets, kind__in=TOLD_OF_SHEETS)
    found = [*_of_decals(lines), *_of_sheets(of_sheets), *_before_laying(sheets)]
    return sorted(found, key=lambda wait: (wait.since, wait.thing))


def newest_waits() -> list[RealWait]:
    """The waits that the newest lines of the logs tell of (five queries)."""
    lines = StageEvent.objects.in_force().filter(kind__in=TOLD).exclude(how=StageEvent.How.SHEET)
    oldest = lines.order_by("-pk").values_list("pk", flat=True)[LINES_READ - 1 : LINES_READ]
    since = next(iter(oldest), 0)
    sheets = Sheet.objects.order_by("-pk")[:LINES_READ]
    kept = [sheet.pk for sheet in sheets]
    of_sheets = SheetEvent.objects.in_force().filter(sheet__in=kept, kind__in=TOLD_OF_SHEETS)
    return [
        *_of_decals(lines.filter(pk__gte=since)),
        *_of_sheets(of_sheets),
        *_before_laying(Sheet.objects.filter(pk__in=kept)),
    ]


def _of_decals(events: QuerySet[StageEvent]) -> Iterable[RealWait]:
    listed = events.select_related("decal__project").order_by("decal", "number")
    for _, mine in groupby(listed, key=lambda event: event.decal_id):
        yield from waits_lain([_line(event, event.decal.words) for event in mine])


def _of_sheets(events: QuerySet[SheetEvent]) -> Iterable[RealWait]:
    listed = events.select_related("sheet").order_by("sheet", "number")
    for _, mine in groupby(listed, key=lambda event: event.sheet_id):
        yield from waits_lain([_line(event, f"Sheet {event.sheet.code}") for event in mine])


def _line(event: Any, thing: str) -> WaitLine:
    air, how = event.air, getattr(event, "how", "")
    kind = air.get("wait")
    return WaitLine(
        thing=thing,
        kind=WaitKind(kind) if kind else None,
        since=datetime.fromisoformat(air["since"]) if kind else None,
        at=event.at,
        done=air.get("done_hours", 0.0),
        of=air.get("of_hours", 0.0),
        by_clock=how == StageEvent.How.CLOCK,
        not_yet=event.kind == "not_yet",
        early=how == StageEvent.How.EARLY,
    )


def _before_laying(sheets: QuerySet[Sheet]) -> Iterable[RealWait]:
    """From the last coat of each sheet to the first piece that was laid from it."""
    first = dict(
        StageEvent.objects.in_force()
        .filter(kind=StageEvent.Kind.STEP, pieces__sheet__in=sheets)
        .values_list("pieces__sheet")
        .annotate(Min("at"))
        .order_by()
    )
    for sheet in sheets:
        if sheet.pk not in first or sheet.wait is None or not sheet.worked_at:
            continue
        asked = (sheet.rested_at - sheet.worked_at) / HOUR if sheet.rested_at else None
        lay = max(first[sheet.pk] - sheet.worked_at, timedelta()) / HOUR
        kind = WaitKind(sheet.wait["kind"])
        yield RealWait(f"Sheet {sheet.code}", kind, sheet.worked_at, asked, lay, early=False)
