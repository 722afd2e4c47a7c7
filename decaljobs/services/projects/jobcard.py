"""A project's job card, gathered from its records for the paper."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import datetime

from django.utils import timezone

from decaljobs.craft.cautions import advice
from decaljobs.craft.drawings.section import section
from decaljobs.craft.paper.jobcard import CardDecal, CardGuides, CardPanel, CardRow, JobCard, Line
from decaljobs.craft.placing import Panel
from decaljobs.craft.stages import LAYERS, Build, Stage, route
from decaljobs.craft.units import format_scale
from decaljobs.models import Decal, Project, StageEvent
from decaljobs.services.artwork.pictures import picture_bytes
from decaljobs.services.bench.drawings import MISSING
from decaljobs.services.drying.air import Airs
from decaljobs.services.drying.waiting import wait_of_decal
from decaljobs.services.projects.placing import placed_on
from decaljobs.services.words import say_date, say_moment
from decaljobs.shown import for_everybody


@for_everybody()
def job_card(*, project: Project, address: str, moment: datetime) -> JobCard:
    """Everything the card of a project prints (seven queries for any number of decals,
    and one for each room's readings)."""
    decals = (
        project.decals.for_rows()
        .prefetch_related("events__undone_by", "artwork__measurings")
        .order_by("place", "number")
    )
    airs = Airs()
    return JobCard(
        project=project.name,
        code=project.code,
        scale=format_scale(project.scale_ratio),
        body_colour=project.body_colour,
        finish=project.get_finish_display(),
        address=address,
        printed_at=say_moment(moment, now=moment, near=False),
        zone=timezone.get_current_timezone_name(),
        due=say_date(project.due) if project.due else "",
        customer=project.customer,
        notes=project.notes,
        decals=tuple(_card_decal(decal, moment, airs) for decal in decals),
        panels=tuple(_card_panels(project)),
    )


def _card_panels(project: Project) -> Iterable[CardPanel]:
    for panel in project.panels.with_decals():
        size = Panel(float(panel.width_mm), float(panel.height_mm))
        yield CardPanel(panel.name, size, tuple(placed_on(panel)))


def _card_decal(decal: Decal, moment: datetime, airs: Airs) -> CardDecal:
    build = Build(decal.build)
    stage = decal.stage_now(moment)
    wait = wait_of_decal(decal, moment, airs)
    return CardDecal(
        place=decal.place,
        number=decal.number,
        of=decal.out_of,
        build=build.words,
        stage=stage.words,
        section=section(
            build,
            stage,
            progress=wait.progress(moment).fraction if wait else None,
            layer_wet=wait.layer if wait else None,
            missing=MISSING.get(decal.held_because),
            labelled=True,
        ),
        width_mm=float(decal.artwork.width_mm),
        height_mm=decal.artwork.height_mm,
        art=picture_bytes(decal.artwork),
        pieces=tuple(piece_lines(decal, moment)),
        good_copies=tuple(_good_copies(decal, build)),
        rows=tuple(_rows(decal, build, moment)),
        drying=f"{wait.told(moment).sentence}." if wait else "",
        guides=_guides(decal),
    )


def _guides(decal: Decal) -> CardGuides | None:
    """The cut guides, where the artwork is measured at its size."""
    artwork = decal.artwork
    same_size = [m for m in artwork.measurings.all() if m.width_mm == artwork.width_mm]
    newest = max((m for m in same_size if m.found), key=lambda m: m.pk, default=None)
    if newest is None or not newest.found or not newest.drawing:
        return None
    left, top, right, bottom = newest.drawing["rectangle"]
    return CardGuides(
        left=left,
        top=top,
        width_mm=right - left,
        height_mm=bottom - top,
        base=_lines(newest.found["base_cut"]["rings"]),
        clear=_lines(newest.found["clear_cut"]["rings"]),
        relief=_lines(newest.found["relief_cuts"]),
    )


def _lines(rings: list[list[list[float]]]) -> tuple[Line, ...]:
    return tuple(tuple((x, y) for x, y in ring) for ring in rings)


def piece_lines(decal: Decal, moment: datetime) -> Iterable[str]:
    """Where a decal's good pieces lie: '2 base on W-01, sealed and dry'."""
    good = [piece for piece in decal.pieces.all() if piece.is_at_hand]
    counted = Counter((piece.layer, piece.sheet) for piece in good)
    for (layer, sheet), number in sorted(counted.items(), key=lambda row: row[0][1].code):
        yield f"{number} {layer} on {sheet.code}, {sheet.state_words(moment)}"


def _good_copies(decal: Decal, build: Build) -> Iterable[tuple[str, int]]:
    good = Counter(p.layer for p in decal.pieces.all() if p.is_at_hand)
    for layer in LAYERS[build]:
        yield layer.value, good[layer.value]


def _rows(decal: Decal, build: Build, moment: datetime) -> Iterable[CardRow]:
    """A row for each step of the decal's route, done or still to do."""
    printers = {piece.sheet.printer for piece in decal.pieces.all()}
    printer = printers.pop() if len(printers) == 1 else None
    done = _done_events(decal)
    for stage in route(build, overcoat=decal.project.overcoat)[1:]:
        known = advice(stage, printer=printer, build=build)
        event = done.get(stage)
        yield CardRow(
            step=stage.words.capitalize(),
            done=_done_words(decal, stage, event, moment),
            not_before="" if event else _not_before(decal, stage, moment),
            reason=event.reason if event else "",
            materials=known.materials,
            caution=known.caution,
            how=known.how,
        )


def _done_events(decal: Decal) -> dict[Stage, StageEvent]:
    """The step that stands for each stage behind the decal; a spoiling takes back what it undid."""
    done: dict[Stage, StageEvent] = {}
    order = list(Stage)
    for event in decal.events.all():
        if event.kind == StageEvent.Kind.UNDO or hasattr(event, "undone_by"):
            continue
        to = Stage(event.to_stage)
        if event.kind == StageEvent.Kind.STEP:
            done[to] = event
        elif event.kind == StageEvent.Kind.SPOILED:
            done = {s: e for s, e in done.items() if order.index(s) <= order.index(to)}
    return done


def _done_words(decal: Decal, stage: Stage, event: StageEvent | None, moment: datetime) -> str:
    if event is not None:
        said = say_moment(event.at, now=moment, near=False)
        return f"{said}, {event.get_how_display()}" if event.how != "hand" else said
    if decal.turns_to == stage and decal.turns_at and decal.turns_at <= moment:
        return f"{say_moment(decal.turns_at, now=moment, near=False)}, by the clock"
    return ""


def _not_before(decal: Decal, stage: Stage, moment: datetime) -> str:
    when = None
    if decal.turns_to == stage and decal.turns_at and decal.turns_at > moment:
        when = decal.turns_at
    elif decal.next_step == stage and decal.ready_at:
        when = decal.ready_at
    return say_moment(when, now=moment, near=False) if when else ""
