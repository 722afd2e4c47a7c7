"""One session of the plan, gathered from its records for the paper."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from django.utils import timezone
from django.utils.text import capfirst

from decaljobs.craft.cautions import StepAdvice, advice_on_all
from decaljobs.craft.doings import Doing
from decaljobs.craft.paper.eveningsheet import EveningSheet, SheetTask
from decaljobs.craft.stages import Film
from decaljobs.models import Decal, Sheet
from decaljobs.services.plan.planwork import NEXT_SHEET
from decaljobs.services.projects.jobcard import piece_lines
from decaljobs.services.words import say_moment
from decaljobs.shown import for_everybody

#: What each kind of work is called where cautions are kept.
ADVICE_ON = {
    Doing.PRINT: "printed",
    Doing.COAT: "coat",
    Doing.BASE: "base_applied",
    Doing.CLEAR: "clear_applied",
    Doing.OVERCOAT: "overcoated",
}


@for_everybody()
def evening_sheet(*, session: Mapping[str, Any], moment: datetime) -> EveningSheet:
    """The paper of one session (four queries for any number of tasks)."""
    tasks = session["tasks"]
    numbers = [pk for task in tasks for pk in task["decals"]]
    decals = Decal.objects.for_rows().filter(pk__in=numbers)
    known = {decal.pk: decal for decal in decals}
    on_sheets = [task["sheet"] for task in tasks if task["sheet"].isdigit()]
    sheets = {str(sheet.pk): sheet for sheet in Sheet.objects.filter(pk__in=on_sheets)}
    rows = [(row["start"], _task(row, known, sheets, moment)) for row in tasks]
    rows += [(row["start"], _airbrush(row)) for row in session["airbrush"]]
    start = datetime.fromisoformat(session["start"])
    end = timezone.localtime(datetime.fromisoformat(session["end"]))
    return EveningSheet(
        when=f"{say_moment(start, now=moment, near=False)}–{end:%H:%M}",
        maker=session["maker"],
        printed_at=say_moment(moment, now=moment, near=False),
        zone=timezone.get_current_timezone_name(),
        tasks=tuple(task for _, task in sorted(rows, key=lambda row: row[0])),
    )


def advice_on_task(
    task: Mapping[str, Any], builds: Iterable[str], sheet: Sheet | None
) -> StepAdvice:
    """What to heed and have ready for a planned task: of films only the one of its own sheet."""
    film = sheet.film if sheet else task["sheet"].removeprefix(NEXT_SHEET)
    return advice_on_all(
        ADVICE_ON[Doing(task["doing"])],
        builds,
        printer=sheet.printer if sheet else None,
        film=film if film in set(Film) else None,
    )


def _task(
    row: Mapping[str, Any],
    decals: Mapping[int, Decal],
    sheets: Mapping[str, Sheet],
    moment: datetime,
) -> SheetTask:
    builds = [decals[pk].build for pk in row["decals"] if pk in decals]
    told = advice_on_task(row, builds, sheets.get(row["sheet"]))
    return SheetTask(
        clock=_clock(row["start"]),
        words=capfirst(row["words"]),
        minutes=row["minutes"],
        project=f"{row['project_name']} ({row['project']})",
        places=tuple(_places(row, decals, moment)),
        caution=told.caution,
        materials=told.materials,
        how=told.how,
    )


def _places(row: Mapping[str, Any], decals: Mapping[int, Decal], moment: datetime) -> Iterable[str]:
    """The decals of a layer one by one, each with where its good pieces lie."""
    if Doing(row["doing"]) is Doing.OVERCOAT:
        return
    layer = row["doing"]
    for pk in row["decals"]:
        if pk in decals:
            lie = [line for line in piece_lines(decals[pk], moment) if f" {layer} on" in line]
            yield f"{decals[pk].words}{': ' if lie else ''}{', '.join(lie)}"


def _airbrush(row: Mapping[str, Any]) -> SheetTask:
    start, end = (datetime.fromisoformat(row[name]) for name in ("start", "end"))
    minutes = round((end - start).total_seconds() / 60)
    return SheetTask(_clock(row["start"]), capfirst(row["words"]), minutes)


def _clock(text: str) -> str:
    return f"{timezone.localtime(datetime.fromisoformat(text)):%H:%M}"
