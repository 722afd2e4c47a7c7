"""Several decals logged by one tap: all of a project, of a place, or of a sheet that are ready."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from django.db.models import Exists, OuterRef

from decaljobs.craft.cautions import Soak, advice, advice_on_all
from decaljobs.craft.stages import Stage
from decaljobs.forms.bench import HAND_STEPS, MOST_AT_ONCE
from decaljobs.models import Decal, Piece, Sheet


@dataclass(frozen=True)
class Batch:
    """Decals that one button logs the same step on; value is what the button sends."""

    name: str
    number: int
    value: str


@dataclass(frozen=True)
class NextHere:
    """A step that is next for ready decals of one project or sheet, with what to heed.

    first: what comes before it; first_on: on which of the decals, where not on all.
    """

    step: Stage
    name: str
    label: str
    first: str
    first_on: str
    caution: str
    soak: Soak | None
    decals: Sequence[Decal]
    everything: Batch
    places: list[Batch]


@dataclass(frozen=True)
class SheetToWork:
    """A sheet that something can be done to now, which is logged on its own page."""

    code: str
    href: str
    work: str


def next_here(ready: Sequence[Decal]) -> list[NextHere]:
    """What can be logged now on these ready decals, step by step in the order of work."""
    by_step = {step: [d for d in ready if d.next_step == step] for step in HAND_STEPS}
    return [_next(step, decals[:MOST_AT_ONCE]) for step, decals in by_step.items() if decals]


def sheets_of_project(project: int, moment: datetime) -> list[SheetToWork]:
    """The sheets with pieces of a project that can be printed or coated now (one query)."""
    good = Piece.objects.at_hand().filter(sheet=OuterRef("pk"), decal__project=project)
    due = Sheet.objects.workable_at(moment).filter(Exists(good))
    due = due.only("code", "printed_at", "coats_done", "coats_wanted")
    return [SheetToWork(sheet.code, sheet.get_absolute_url(), _work(sheet)) for sheet in due]


def _work(sheet: Sheet) -> str:
    if not sheet.is_printed:
        return "print it"
    return f"coat {sheet.coats_done + 1} of {sheet.coats_wanted}"


def project_batches(things: Iterable[Decal | Sheet], step: str) -> list[Batch]:
    """The decals among these in batches of two and more of one project; sheets have none."""
    decals = sorted((t for t in things if isinstance(t, Decal)), key=lambda d: (d.project_id, d.pk))
    groups = [list(members) for _, members in groupby(decals, key=lambda d: d.project_id)]
    many = [members for members in groups if len(members) > 1]
    return [_batch(members, Stage(step), members[0].project.name) for members in many]


def _places(decals: Sequence[Decal], step: Stage) -> list[Batch]:
    """A batch for each place, where there are several and one of them holds several decals."""
    rows = sorted(decals, key=lambda d: (d.project_id, d.place, d.number))
    groups = [list(rows) for _, rows in groupby(rows, key=lambda d: (d.project_id, d.place))]
    if len(groups) < 2:
        return []
    return [_batch(rows, step, rows[0].place) for rows in groups if len(rows) > 1]


def _next(step: Stage, decals: Sequence[Decal]) -> NextHere:
    told = advice_on_all(step.value, [decal.build for decal in decals])
    unclean = [decal for decal in decals if decal.clean_surface]
    some = 0 < len(unclean) < len(decals)
    return NextHere(
        step=step,
        name=step.step_words,
        label=step.words.capitalize(),
        first=advice("surface").how[0] if unclean else "",
        first_on=", ".join(decal.words for decal in unclean) if some else "",
        caution=told.caution,
        soak=told.soak,
        decals=decals,
        everything=_batch(decals, step, ""),
        places=_places(decals, step),
    )


def _batch(decals: Sequence[Decal], step: Stage, name: str) -> Batch:
    numbers = ",".join(str(decal.pk) for decal in decals)
    return Batch(name, len(decals), f"{numbers}:{step.value}")
