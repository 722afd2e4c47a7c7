"""Logging the steps that hands take on decals: laying, testing by touch, overcoating."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from decaljobs.craft.stages import (
    DRIED_STAGES,
    LAID_LAYER,
    SHEET_STEPS,
    Build,
    Hold,
    Stage,
    StageError,
    check_next,
    following,
)
from decaljobs.craft.waits import Leg, WaitKind
from decaljobs.models import Decal, Person, Piece, PieceState, StageEvent, WaitRule
from decaljobs.services.bench import logbook
from decaljobs.services.bench.event_figures import figures_of
from decaljobs.services.bench.logbook import How, Kind
from decaljobs.services.bench.outlooks import refresh
from decaljobs.services.drying.air import Airs, room_at
from decaljobs.services.drying.waits import legs_after, rules_of
from decaljobs.services.refused import Refused, TooEarly
from decaljobs.services.stores import stock
from decaljobs.services.words import say_ready


@dataclass(frozen=True)
class _Logging:
    """What the steps logged in one go have in common."""

    step: Stage
    at: datetime
    moment: datetime
    by: Person | None
    reason: str
    rules: dict[WaitKind, WaitRule]
    airs: Airs


@transaction.atomic
def log_step(
    *,
    decals: Sequence[int],
    step: Stage,
    by: Person | None,
    moment: datetime,
    at: datetime | None = None,
    reason: str = "",
    seen: Mapping[int, int] | None = None,
) -> list[StageEvent]:
    """Log the same step on these decals, all or none.

    at: when it was done, the moment if None. seen: for each decal the number of
    log lines the maker's page showed. Raises Refused, TooEarly (a wait runs and
    no reason is given) or Overtaken.
    """
    if step in SHEET_STEPS or step is Stage.PLANNED:
        raise Refused(f"{step.words.capitalize()} is logged on the sheet, not on a decal.")
    rules = rules_of(WaitKind)
    logging = _Logging(step, at or moment, moment, by, reason.strip(), rules, Airs())
    locked = logbook.lock(decals)
    logbook.check_at_work(locked)
    events = []
    for decal in locked:
        logbook.check_seen(decal, (seen or {}).get(decal.pk), now=moment)
        events.append(_log_one(decal, logging))
    stock.use_for_steps(events)
    refresh(locked, logging.airs)
    return events


def ripen(decal: Decal, at: datetime, *, moment: datetime, airs: Airs) -> None:
    """Write down the stage that drying alone has led to by then, if any."""
    stage = decal.stage_now(at)
    if stage == decal.stage or decal.turns_at is None:
        return
    remaining = [Leg.from_dict(kept) for kept in decal.waits[1:]]
    logbook.append(
        decal,
        kind=Kind.STEP,
        how=How.CLOCK,
        to_stage=stage,
        at=decal.turns_at,
        moment=moment,
        by=None,
        legs=remaining,
        room=room_at(decal.stays, decal.turns_at),
        air=figures_of(decal, decal.turns_at, airs),
    )


def _log_one(decal: Decal, logging: _Logging) -> StageEvent:
    what = Stage(decal.stage).words
    after = decal.stage_at if decal.stage != Stage.PLANNED else None
    logbook.check_time(logging.at, moment=logging.moment, after=after, what=what)
    ripen(decal, logging.at, moment=logging.moment, airs=logging.airs)
    if logging.step in DRIED_STAGES:
        return _log_touch(decal, logging)
    _check_order(decal, logging.step)
    early = _check_ready(decal, logging)
    dried = _following(decal)
    if dried in DRIED_STAGES:  # laid before its time: the base counts as cured on the maker's word
        _append_step(decal, logging, dried, How.EARLY)
    piece = _take_piece(decal, logging)
    return _append_step(
        decal, logging, logging.step, How.EARLY if early else How.HAND, [piece] if piece else []
    )


def _log_touch(decal: Decal, logging: _Logging) -> StageEvent:
    """Dry to the touch: the maker's finger ends the wait, and the event says so."""
    if decal.stage == logging.step:
        raise Refused(f"{decal.words} is {logging.step.words} already, by the clock.")
    _check(decal, logging.step)
    return _append_step(decal, logging, logging.step, How.TOUCH)


def _check_order(decal: Decal, step: Stage) -> None:
    """Refuse a step out of order; drying in between is passed over here."""
    if decal.next_step == step:
        return
    _check(decal, step)
    raise Refused(f"{step.words.capitalize()} is not what comes next for {decal.words}.")


def _check(decal: Decal, step: Stage) -> None:
    try:
        check_next(Build(decal.build), Stage(decal.stage), step, overcoat=decal.project.overcoat)
    except StageError as error:
        raise Refused(f"{decal.words}: {error}") from error


def _check_ready(decal: Decal, logging: _Logging) -> bool:
    """Whether the step is before its time; refused when something is missing or unexplained."""
    if decal.held_because and decal.held_because != Hold.NEVER_DRIES:
        raise Refused(f"{decal.words}: {Hold(decal.held_because).words}")
    if decal.ready_at is not None and decal.ready_at <= logging.at:
        return False
    if logging.reason:
        return True
    when = say_ready(decal.ready_at, now=logging.moment)
    raise TooEarly(
        f"{decal.words} is not ready for ‘{logging.step.words}’ before {when}. "
        "Leave it alone, or say why it is done all the same.",
        decal.ready_at,
    )


def _following(decal: Decal) -> Stage | None:
    return following(Build(decal.build), Stage(decal.stage), overcoat=decal.project.overcoat)


def _take_piece(decal: Decal, logging: _Logging) -> Piece | None:
    """Use up the piece that has been dry the longest, for a step that lays one."""
    layer = LAID_LAYER.get(logging.step)
    if layer is None:
        return None
    piece = decal.pieces.to_lay(layer).select_related("sheet").first()
    if piece is None:
        raise Refused(f"{decal.words}: no good {layer} piece lies on a sealed sheet.")
    logbook.check_time(
        logging.at,
        moment=logging.moment,
        after=piece.sheet.worked_at,
        what=f"the last coat on sheet {piece.sheet.code}",
    )
    piece.state = PieceState.USED
    piece.save(update_fields=["state"])
    return piece


def _append_step(
    decal: Decal, logging: _Logging, stage: Stage, how: str, pieces: Sequence[Piece] = ()
) -> StageEvent:
    legs = legs_after(
        Build(decal.build), stage, overcoat=decal.project.overcoat, rules=logging.rules
    )
    return logbook.append(
        decal,
        kind=Kind.STEP,
        how=how,
        to_stage=stage,
        at=logging.at,
        moment=logging.moment,
        by=logging.by,
        reason=logging.reason,
        legs=legs,
        pieces=pieces,
        room=logbook.drying_room(decal, logging.at, logging.airs),
        air=figures_of(decal, logging.at, logging.airs),
    )
