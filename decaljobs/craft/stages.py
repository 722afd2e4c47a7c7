"""The stages a decal passes through, in which order, and what a mishap undoes.

The order of work is common practice, no source: two layers on a dark body, the
art on white film first, the same art on clear film over it once the base is dry.
"""

from __future__ import annotations

from dataclasses import dataclass
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
