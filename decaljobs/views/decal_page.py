"""The decal page, worked out beforehand: its track, its next step, its pieces, its log."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone

from decaljobs.craft.cautions import StepAdvice, advice
from decaljobs.craft.stages import (
    DRIED_STAGES,
    LAYERS,
    SHEET_STEPS,
    Build,
    Layer,
    Stage,
    laid_layers,
    route,
)
from decaljobs.craft.waits import WaitKind
from decaljobs.forms.decals import SpoilLayerForm, SpoilPieceForm, StepForm
from decaljobs.forms.measuring import LookForm
from decaljobs.forms.rooms import MoveDecalForm
from decaljobs.forms.touch import TouchForm
from decaljobs.models import Decal, Piece, PieceState, Room, StageEvent
from decaljobs.services.artwork.onpaint import verdict_on
from decaljobs.services.bench.moving import lies_in
from decaljobs.services.drying.air import Airs, airs_of
from decaljobs.services.drying.spraying import Spraying, spraying
from decaljobs.services.drying.waiting import wait_of_decal
from decaljobs.services.film.lending import Offer, offers_for
from decaljobs.services.words import until
from decaljobs.views.art_drawing import drawing_for
from decaljobs.views.bench_words import (
    rest_words,
    what_dries,
    why_held,
    why_ready,
)
from decaljobs.views.just_logged import just_logged
from decaljobs.views.pages import draw, page_of
from decaljobs.views.photo_page import photos_of_decal


@dataclass(frozen=True)
class TrackStage:
    """One stage of a decal's way: its words, 'done', 'now' or 'to come', and since when."""

    words: str
    state: str
    at: datetime | None


@dataclass(frozen=True)
class LayerPieces:
    """The pieces of one layer, and how many of them are good."""

    layer: Layer
    pieces: list[tuple[Piece, SpoilPieceForm]]

    @property
    def good(self) -> int:
        return sum(piece.state == PieceState.GOOD for piece, _ in self.pieces)


@dataclass(frozen=True)
class NextStep:
    """What comes next for a decal, and whether it can be logged now."""

    step: Stage
    name: str
    label: str
    advice: StepAdvice
    first: str
    early: bool
    why: str
    held: tuple[str, str, str] | None


def get_decal(pk: int) -> Decal:
    """The decal with its project, artwork, and its pieces on their sheets (3 queries)."""
    return get_object_or_404(
        Decal.objects.for_rows().select_related("queued", "placing__panel"), pk=pk
    )


def draw_decal(
    request: HttpRequest, pk: int, *, status: int | None = None, **forms: Any
) -> HttpResponse:
    """The page of a decal as it is now; with a form that was refused, it says why beside it."""
    return draw(request, "decal", _context(request, get_decal(pk), **forms), status=status)


def _context(
    request: HttpRequest,
    decal: Decal,
    *,
    step_form: StepForm | None = None,
    spoil_form: SpoilLayerForm | None = None,
    piece_forms: dict[int, SpoilPieceForm] | None = None,
    touch_form: TouchForm | None = None,
    move_form: MoveDecalForm | None = None,
) -> dict[str, Any]:
    """Everything that the page shows, with forms that came back kept as they were typed."""
    moment = timezone.now()
    airs = airs_of(request)
    wait = wait_of_decal(decal, moment, airs)
    stage = decal.stage_now(moment)
    log = decal.events.select_related("sheet_event__sheet").newest_first()
    last = next((line for line in log if line.stands), None)
    return {
        "decal": decal,
        "moment": moment,
        "just_logged": just_logged(request, decals=[decal.pk]),
        "stage": stage,
        "track": list(_track(decal, stage, log)),
        "wait": wait,
        "wait_words": wait.told(moment) if wait else None,
        "what_dries": what_dries(decal, wait),
        "rests": rest_words(decal, wait, moment),
        "until": until(decal.ready_at, moment),
        "white": verdict_on(decal),
        "drawing": drawing_for(decal.artwork, request.user),
        "looks": LookForm.CLOSER,
        "paint": decal.project.body_colour.removeprefix("#"),
        "chosen": Build(decal.build).value.replace("_", " "),
        "offers": _offers(decal),
        "next": _next_step(decal, moment, lies_in(decal, airs)),
        "touch": touch_step(decal, moment),
        "step_form": step_form or StepForm(initial={"seen": decal.events_logged}),
        "spoil_form": spoil_form or _spoil_form(decal, stage),
        "photos": photos_of_decal(decal, stage),
        "layers": _layers(decal, piece_forms or {}),
        "log": page_of(log, request.GET),
        "spraying": _spraying(decal, airs, moment),
        "lies_in": lies_in(decal, airs),
        "touch_form": touch_form or TouchForm(initial={"seen": decal.events_logged}),
        "move_form": move_form or MoveDecalForm(rooms=list(airs.rooms.values())),
        "last": last,
        "last_on_sheet": last.sheet_event.sheet if last and last.sheet_event_id else None,
    }


def _spraying(decal: Decal, airs: Airs, moment: datetime) -> Spraying | None:
    """Whether the overcoat may go on, where it comes next."""
    if decal.next_step != Stage.OVERCOATED:
        return None
    kind = WaitKind.OVERCOAT_HANDLED
    return spraying(room=lies_in(decal, airs), kind=kind, airs=airs, moment=moment)


def touch_step(decal: Decal, moment: datetime) -> Stage | None:
    """The stage that the maker's finger can call reached while a layer dries on the model."""
    following = _after(decal, decal.stage_now(moment))
    drying = any(kept["to"] == following for kept in decal.waits)
    return following if following in DRIED_STAGES and drying else None


def layers_on_model(decal: Decal, moment: datetime) -> tuple[Layer, ...]:
    """The layers that can be spoiled, lowest first."""
    return laid_layers(Build(decal.build), decal.stage_now(moment))


def _after(decal: Decal, stage: Stage) -> Stage | None:
    stages = route(Build(decal.build), overcoat=decal.project.overcoat)
    place = stages.index(stage) + 1 if stage in stages else len(stages)
    return stages[place] if place < len(stages) else None


def _spoil_form(decal: Decal, stage: Stage) -> SpoilLayerForm | None:
    layers = laid_layers(Build(decal.build), stage)
    if not layers:
        return None
    return SpoilLayerForm(layers=layers[::-1], initial={"seen": decal.events_logged})


def _track(decal: Decal, now: Stage, log: Sequence[StageEvent]) -> Iterable[TrackStage]:
    """The stages of the decal's route; one reached by drying alone counts from then."""
    steps = [line for line in reversed(log) if line.stands and line.kind == StageEvent.Kind.STEP]
    reached = {line.to_stage: line.at for line in steps}
    if now != decal.stage:
        reached[now.value] = decal.turns_at
    stages = list(route(Build(decal.build), overcoat=decal.project.overcoat))
    if now not in stages:
        stages.append(now)
    here = stages.index(now)
    for place, stage in enumerate(stages):
        state = "now" if place == here else "done" if place < here else "to come"
        at = reached.get(stage.value) if place <= here else None
        yield TrackStage(stage.words, state, at)


def _next_step(decal: Decal, moment: datetime, room: Room) -> NextStep | None:
    if not decal.next_step:
        return None
    step = Stage(decal.next_step)
    early = not decal.held_because and decal.ready_at is not None and decal.ready_at > moment
    ready = not decal.held_because and not early
    return NextStep(
        step=step,
        name=step.step_words,
        label=step.words.capitalize(),
        advice=advice(step.value, build=decal.build),
        first=advice("surface").how[0] if decal.clean_surface else "",
        early=early,
        why=why_ready(decal, moment) if ready and step not in SHEET_STEPS else "",
        held=why_held(decal, room) if decal.held_because else None,
    )


def _offers(decal: Decal) -> list[Offer]:
    """What twins could lend it, where it has no piece of a layer."""
    return offers_for(decal) if decal.layers_without_piece else []


def _layers(decal: Decal, forms: dict[int, SpoilPieceForm]) -> list[LayerPieces]:
    return [
        LayerPieces(
            layer,
            [
                (piece, forms.get(piece.pk) or SpoilPieceForm(piece=piece.pk))
                for piece in decal.pieces.all()
                if piece.layer == layer
            ],
        )
        for layer in LAYERS[Build(decal.build)]
    ]
