"""What can be done next to a decal, and from when: by its log, its pieces and their sheets."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from decaljobs.craft.stages import (
    DRIED_STAGES,
    LAID_LAYER,
    LAYERS,
    SHEET_STEPS,
    Build,
    Hold,
    Layer,
    Stage,
    following,
)


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
