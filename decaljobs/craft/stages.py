"""The stages a decal passes through, what each step needs, and what a mishap undoes.

The order of work is common practice, no source: two layers on a dark body, the
art on white film first, the same art on clear film over it once the base is dry.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum


class Build(StrEnum):
    """How a marking is made up of layers."""

    LAMINATED = "laminated"
    CLEAR_ALONE = "clear_alone"
    WHITE_ALONE = "white_alone"

    @property
    def words(self) -> str:
        """As it is said at the bench."""
        return {"laminated": "laminated (base + clear)"}.get(self, self.value.replace("_", " "))


class Layer(StrEnum):
    """One printed film: the base on white, or the clear over it."""

    BASE = "base"
    CLEAR = "clear"

    @property
    def film(self) -> Film:
        """The film that it is printed on."""
        return Film.WHITE if self is Layer.BASE else Film.CLEAR


class Film(StrEnum):
    """The film a sheet is made of; it decides the layer its pieces are for."""

    WHITE = "white"
    CLEAR = "clear"

    @property
    def layer(self) -> Layer:
        """The layer that pieces on this film are for."""
        return Layer.BASE if self is Film.WHITE else Layer.CLEAR


class Printer(StrEnum):
    """How a sheet is printed."""

    INKJET = "inkjet"
    LASER = "laser"


class Stage(StrEnum):
    """Where a decal stands. A step is named after the stage it leads to."""

    PLANNED = "planned"
    PRINTED = "printed"
    SEALED = "sealed"
    BASE_APPLIED = "base_applied"
    CURED = "cured"
    CLEAR_APPLIED = "clear_applied"
    SET = "set"
    OVERCOATED = "overcoated"

    @property
    def words(self) -> str:
        """As it is said at the bench."""
        return self.value.replace("_", " ")

    @property
    def step_words(self) -> str:
        """The work that leads to it, as it is said at the bench."""
        return _STEP_WORDS.get(self, self.words)


_STEP_WORDS = {
    Stage.PRINTED: "printing",
    Stage.SEALED: "sealing",
    Stage.BASE_APPLIED: "base layer",
    Stage.CLEAR_APPLIED: "clear layer",
    Stage.OVERCOATED: "overcoat",
}


class Hold(StrEnum):
    """Why nothing can be done to a decal, whatever the clock says."""

    NO_BASE_PIECE = "no_base_piece"
    NO_CLEAR_PIECE = "no_clear_piece"
    NO_PIECES = "no_pieces"
    SHEET_NOT_PRINTED = "sheet_not_printed"
    SHEET_NOT_SEALED = "sheet_not_sealed"
    NEVER_DRIES = "never_dries"

    @property
    def words(self) -> str:
        """A sentence with what to do about it, where something can be done."""
        return {
            "no_base_piece": "No good base piece: print it on white film.",
            "no_clear_piece": "No good clear piece: print it on clear film.",
            "no_pieces": "No piece on a sheet yet: put it on white or clear film to be printed.",
            "sheet_not_printed": "Its sheet is not printed yet.",
            "sheet_not_sealed": "Its sheet is not sealed yet.",
            "never_dries": "It will not dry in this room: too cold or too damp.",
        }[self.value]


LAYERS: dict[Build, tuple[Layer, ...]] = {
    Build.LAMINATED: (Layer.BASE, Layer.CLEAR),
    Build.CLEAR_ALONE: (Layer.CLEAR,),
    Build.WHITE_ALONE: (Layer.BASE,),
}

_ROUTES: dict[Build, tuple[Stage, ...]] = {
    Build.LAMINATED: tuple(stage for stage in Stage if stage is not Stage.OVERCOATED),
    Build.CLEAR_ALONE: (
        Stage.PLANNED,
        Stage.PRINTED,
        Stage.SEALED,
        Stage.CLEAR_APPLIED,
        Stage.SET,
    ),
    Build.WHITE_ALONE: (
        Stage.PLANNED,
        Stage.PRINTED,
        Stage.SEALED,
        Stage.BASE_APPLIED,
        Stage.SET,
    ),
}

#: Steps taken on a whole sheet, which move every decal lying on it.
SHEET_STEPS = frozenset({Stage.PRINTED, Stage.SEALED})
#: Stages reached by drying alone: the clock or the maker's finger says when.
DRIED_STAGES = frozenset({Stage.CURED, Stage.SET})
#: Steps that lay a piece on the model.
LAID_LAYER: dict[Stage, Layer] = {
    Stage.BASE_APPLIED: Layer.BASE,
    Stage.CLEAR_APPLIED: Layer.CLEAR,
}


class StageError(ValueError):
    """A step that cannot be taken; the message is one sentence for the maker."""


def route(build: Build, *, overcoat: bool) -> tuple[Stage, ...]:
    """The stages a build passes through, in order.

    >>> [str(stage) for stage in route(Build.WHITE_ALONE, overcoat=False)]
    ['planned', 'printed', 'sealed', 'base_applied', 'set']
    """
    return _ROUTES[build] + ((Stage.OVERCOATED,) if overcoat else ())


def following(build: Build, stage: Stage, *, overcoat: bool) -> Stage | None:
    """The stage after this one, or None at the end.

    >>> following(Build.LAMINATED, Stage.BASE_APPLIED, overcoat=True)
    <Stage.CURED: 'cured'>
    >>> following(Build.LAMINATED, Stage.SET, overcoat=False) is None
    True
    """
    stages = route(build, overcoat=overcoat)
    if stage not in stages:  # overcoated, and the project's overcoat was called off since
        return None
    place = stages.index(stage) + 1
    return stages[place] if place < len(stages) else None


def check_next(build: Build, stage: Stage, step: Stage, *, overcoat: bool) -> None:
    """Refuse any step but the one that follows.

    Raises StageError naming what comes first.

    >>> check_next(Build.LAMINATED, Stage.SEALED, Stage.CLEAR_APPLIED, overcoat=False)
    Traceback (most recent call last):
    ...
    decaljobs.craft.stages.StageError: Clear applied cannot follow sealed: base applied comes next.
    """
    expected = following(build, stage, overcoat=overcoat)
    if step is expected:
        return
    said = step.words.capitalize()
    if expected is None:
        raise StageError(f"{said} cannot follow {stage.words}: nothing is left to do.")
    raise StageError(f"{said} cannot follow {stage.words}: {expected.words} comes next.")


@dataclass(frozen=True)
class SheetState:
    """What matters of a sheet: printed, all coats on, and when the last coat is dry (UTC)."""

    printed: bool
    sealed: bool
    dry_at: datetime | None = None


@dataclass(frozen=True)
class GoodPiece:
    """A piece that can still be used, and the sheet it lies on."""

    layer: Layer
    sheet: SheetState


@dataclass(frozen=True)
class Standing:
    """Where a decal's log has brought it.

    turns_to and turns_at: the stage that drying leads to and when (UTC), None
    when nothing is drying on the model. rested_at: when a further wait before
    the next step for the hands is over. never_dries: a wait has no end in the
    room as it is.
    """

    build: Build
    stage: Stage
    overcoat: bool
    turns_to: Stage | None = None
    turns_at: datetime | None = None
    rested_at: datetime | None = None
    never_dries: bool = False


@dataclass(frozen=True)
class Outlook:
    """What comes next for a decal: the step for the hands, from when, or why not.

    ready_at is in UTC; None with no hold means at once. With no step left,
    ready_at is when the decal is finished.
    """

    step: Stage | None
    ready_at: datetime | None
    hold: Hold | None
    lacking: tuple[Layer, ...] = field(default=())


def outlook(standing: Standing, pieces: Iterable[GoodPiece]) -> Outlook:
    """What can be done next to a decal, from its standing and its good pieces.

    >>> outlook(Standing(Build.CLEAR_ALONE, Stage.PLANNED, overcoat=False), []).hold
    <Hold.NO_CLEAR_PIECE: 'no_clear_piece'>
    """
    step = _step_for_hands(standing)
    good = tuple(pieces)
    if step in SHEET_STEPS:
        return _sheet_outlook(standing.build, step, good)
    if standing.never_dries:
        return Outlook(step, None, Hold.NEVER_DRIES)
    moments = [m for m in (standing.turns_at, standing.rested_at) if m is not None]
    layer = LAID_LAYER.get(step) if step else None
    if layer is None:
        return Outlook(step, max(moments, default=None), None)
    return _laying_outlook(step, layer, good, moments)


def _step_for_hands(standing: Standing) -> Stage | None:
    """The next step that hands take: drying is passed over."""
    stage = standing.turns_to or standing.stage
    step = following(standing.build, stage, overcoat=standing.overcoat)
    while step in DRIED_STAGES:
        step = following(standing.build, step, overcoat=standing.overcoat)
    return step


def _sheet_outlook(build: Build, step: Stage | None, good: Sequence[GoodPiece]) -> Outlook:
    """Printing and sealing happen on the sheet, so the decal itself is held until then."""
    lacking = tuple(
        layer for layer in LAYERS[build] if not any(piece.layer is layer for piece in good)
    )
    if lacking:
        return Outlook(step, None, _lack(lacking), lacking)
    hold = Hold.SHEET_NOT_PRINTED if step is Stage.PRINTED else Hold.SHEET_NOT_SEALED
    if not all(_best(good, layer).printed for layer in LAYERS[build]):
        hold = Hold.SHEET_NOT_PRINTED
    return Outlook(step, None, hold)


def _laying_outlook(
    step: Stage | None, layer: Layer, good: Sequence[GoodPiece], moments: list[datetime]
) -> Outlook:
    """A layer can be laid once a good piece of it lies on a sealed, dry sheet."""
    if not any(piece.layer is layer for piece in good):
        return Outlook(step, None, _lack((layer,)), (layer,))
    best = _best(good, layer)
    if not best.sealed:
        hold = Hold.SHEET_NOT_SEALED if best.printed else Hold.SHEET_NOT_PRINTED
        return Outlook(step, None, hold)
    if best.dry_at is None:
        return Outlook(step, None, Hold.NEVER_DRIES)
    return Outlook(step, max([*moments, best.dry_at]), None)


def _best(good: Sequence[GoodPiece], layer: Layer) -> SheetState:
    """The sheet furthest along that holds a good piece of the layer."""

    def furthest_first(sheet: SheetState) -> tuple[bool, bool, bool, float]:
        dry_at = sheet.dry_at.timestamp() if sheet.dry_at else 0.0
        return not sheet.sealed, not sheet.printed, sheet.dry_at is None, dry_at

    return min((piece.sheet for piece in good if piece.layer is layer), key=furthest_first)


def _lack(lacking: Sequence[Layer]) -> Hold:
    if len(lacking) > 1:
        return Hold.NO_PIECES
    return Hold.NO_BASE_PIECE if lacking[0] is Layer.BASE else Hold.NO_CLEAR_PIECE


def reached_on_sheets(build: Build, pieces: Iterable[GoodPiece]) -> Stage:
    """How far the sheets alone have brought a decal: planned, printed or sealed.

    Every layer the build needs counts: a laminated decal is printed once both
    its layers are, and sealed once both are.

    >>> sealed = SheetState(printed=True, sealed=True)
    >>> reached_on_sheets(Build.LAMINATED, [GoodPiece(Layer.BASE, sealed)])
    <Stage.PLANNED: 'planned'>
    """
    good = tuple(pieces)
    held = {layer: [p.sheet for p in good if p.layer is layer] for layer in LAYERS[build]}
    if all(any(sheet.sealed for sheet in sheets) for sheets in held.values()):
        return Stage.SEALED
    if all(any(sheet.printed for sheet in sheets) for sheets in held.values()):
        return Stage.PRINTED
    return Stage.PLANNED


@dataclass(frozen=True)
class Spoiling:
    """What spoiling laid layers does: the stage it falls back to, what is lost, what to clean."""

    back_to: Stage
    layers: tuple[Layer, ...]
    clean_surface: bool


def spoil(build: Build, stage: Stage, layer: Layer) -> Spoiling:
    """What happens when a layer on the model is spoiled.

    A spoiled clear layer leaves the dry base, so a laminated decal falls back
    to cured; a spoiled base takes everything above with it, so it falls back
    to sealed and the surface is to be cleaned (common practice, no source).
    Raises StageError for a layer that is not on the model yet.

    >>> spoil(Build.LAMINATED, Stage.SET, Layer.CLEAR).back_to
    <Stage.CURED: 'cured'>
    """
    laid = laid_layers(build, stage)
    if layer not in laid:
        raise StageError(f"There is no {layer} layer on the model at stage {stage.words}.")
    if layer is Layer.CLEAR and Layer.BASE in laid:
        return Spoiling(Stage.CURED, (Layer.CLEAR,), clean_surface=False)
    return Spoiling(Stage.SEALED, laid, clean_surface=True)


def laid_layers(build: Build, stage: Stage) -> tuple[Layer, ...]:
    """The layers that lie on the model at a stage, lowest first.

    >>> laid_layers(Build.LAMINATED, Stage.CURED)
    (<Layer.BASE: 'base'>,)
    """
    stages = route(build, overcoat=True)
    passed = stages[: stages.index(stage) + 1]
    return tuple(layer for step, layer in LAID_LAYER.items() if step in passed)
