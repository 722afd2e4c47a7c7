"""Walking through a session: each planned task logged by the service that its step belongs to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction

from decaljobs.craft.doings import STEP_OF, Doing
from decaljobs.models import Person, Sheet, SheetEvent
from decaljobs.services.bench import steps
from decaljobs.services.bench.undoing import undo_last
from decaljobs.services.film import sheets
from decaljobs.services.film.sheet_undoing import undo_sheet
from decaljobs.services.plan.planwork import NEXT_SHEET
from decaljobs.services.refused import Refused, moved_on

FILL_FIRST = "This sheet is still to be filled: lay it out first, then print it from its own page."


@dataclass(frozen=True)
class TaskLogged:
    """What was logged, as undoing it wants to know: the number of the line, by decal or sheet."""

    decals: dict[str, int]
    sheet: int | None = None


def log_task(
    *,
    task: Mapping[str, Any],
    decals: Sequence[int],
    by: Person,
    moment: datetime,
    reason: str = "",
) -> TaskLogged:
    """Log a planned task, for these of its decals. Raises Refused, TooEarly or Overtaken."""
    doing = Doing(task["doing"])
    if doing in STEP_OF:
        wanted = [pk for pk in task["decals"] if pk in set(decals)]
        if not wanted:
            raise Refused("Tick at least one decal, or skip the task.")
        events = steps.log_step(
            decals=wanted, step=STEP_OF[doing], by=by, moment=moment, reason=reason
        )
        return TaskLogged({str(event.decal_id): event.number for event in events})
    if task["sheet"].startswith(NEXT_SHEET):
        raise Refused(FILL_FIRST)
    sheet = int(task["sheet"])
    if doing is Doing.PRINT:
        event = sheets.log_printed(sheet=sheet, by=by, moment=moment)
    else:
        event = _log_coat(sheet, task["coat"], by, moment, reason)
    return TaskLogged({}, event.number)


def on_filled_sheets(
    tasks: Sequence[dict[str, Any]], *, since: datetime, offcuts: Sequence[int] = ()
) -> list[dict[str, Any]]:
    """These tasks, those of the next sheet on the one that was laid out since they were planned.

    offcuts: the numbers of those that were empty then; one that is not is taken where no new sheet
    was filled. One query where a next sheet is among them, none otherwise.
    """
    if not any(task["sheet"].startswith(NEXT_SHEET) for task in tasks):
        return list(tasks)
    named = [int(task["sheet"]) for task in tasks if task["sheet"].isdigit()]
    filled: dict[str, Sheet] = {}
    for sheet in Sheet.objects.laid_out_since(since, offcuts).exclude(pk__in=named):
        filled.setdefault(f"{NEXT_SHEET}{sheet.film}", sheet)
    return [_on_sheet(task, filled.get(task["sheet"])) for task in tasks]


def _on_sheet(task: dict[str, Any], sheet: Sheet | None) -> dict[str, Any]:
    if sheet is None:
        return task
    words = task["words"].replace(f"the next {sheet.film} sheet", f"sheet {sheet.code}")
    return {**task, "sheet": str(sheet.pk), "words": words}


@transaction.atomic
def undo_task(*, task: Mapping[str, Any], logged: TaskLogged, by: Person, moment: datetime) -> None:
    """Take back what a task logged, all of it or nothing. Raises Refused or Overtaken."""
    if logged.sheet is not None:
        undo_sheet(sheet=int(task["sheet"]), by=by, moment=moment, seen=logged.sheet)
    for pk, number in logged.decals.items():
        undo_last(decal=int(pk), by=by, moment=moment, seen=number)


@transaction.atomic
def _log_coat(sheet: int, coat: int, by: Person, moment: datetime, reason: str) -> SheetEvent:
    """One coat, if it is the one that was planned."""
    found = Sheet.objects.select_for_update().filter(pk=sheet).first()
    if found is not None and found.coats_done + 1 != coat:
        done = f"{found.coats_done} of {found.coats_wanted} coats are on"
        raise moved_on(f"Sheet {found.code}", done)
    return sheets.log_coat(sheet=sheet, by=by, moment=moment, reason=reason)
