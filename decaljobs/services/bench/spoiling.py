"""Mishaps: a layer spoiled on the model, or a piece spoiled before it was laid."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from decaljobs.craft.stages import Build, Layer, Stage, StageError, spoil
from decaljobs.models import Decal, Person, Piece, PieceState, StageEvent
from decaljobs.services.bench import logbook
from decaljobs.services.bench.event_figures import figures_of
from decaljobs.services.bench.logbook import Kind
from decaljobs.services.bench.outlooks import refresh
from decaljobs.services.bench.steps import ripen
from decaljobs.services.drying.air import Airs
from decaljobs.services.locking import lock_record
from decaljobs.services.refused import Refused


@transaction.atomic
def spoil_layer(
    *,
    decal: int,
    layer: Layer,
    by: Person,
    moment: datetime,
    at: datetime | None = None,
    reason: str = "",
    cause: str = "",
    seen: int | None = None,
) -> StageEvent:
    """Log that a layer on the model is spoiled: the decal falls back. Raises Refused."""
    (locked,) = logbook.lock([decal])
    logbook.check_seen(locked, seen, now=moment)
    when = at or moment
    logbook.check_time(when, moment=moment, after=locked.stage_at, what=Stage(locked.stage).words)
    airs = Airs()
    ripen(locked, when, moment=moment, airs=airs)
    try:
        loss = spoil(Build(locked.build), Stage(locked.stage), layer)
    except StageError as error:
        raise Refused(f"{locked.words}: {error}") from error
    lost = list(
        locked.pieces.filter(state=PieceState.USED, layer__in=[lay.value for lay in loss.layers])
    )
    Piece.objects.filter(pk__in=[piece.pk for piece in lost]).update(state=PieceState.SPOILED)
    event = logbook.append(
        locked,
        kind=Kind.SPOILED,
        to_stage=loss.back_to,
        at=when,
        moment=moment,
        by=by,
        reason=reason,
        cause=cause,
        clean_surface=loss.clean_surface,
        pieces=lost,
        room=logbook.drying_room(locked, when, airs),
        air=figures_of(locked, when, airs),
    )
    refresh([locked], airs)
    return event


@transaction.atomic
def spoil_piece(
    *, piece: int, by: Person, moment: datetime, reason: str = "", cause: str = ""
) -> StageEvent:
    """Log that a piece was spoiled before it was laid. Raises Refused."""
    decals = logbook.lock(Decal.objects.filter(pieces=piece).values_list("pk", flat=True))
    found = lock_record(Piece.objects.select_related("sheet"), piece, "piece")
    (decal,) = decals
    if found.state != PieceState.GOOD:
        raise Refused(f"This piece is {found.state} already.")
    if not found.sheet.is_printed:
        raise Refused(f"Sheet {found.sheet.code} is not printed yet: take the piece off it.")
    found.state = PieceState.SPOILED
    found.save(update_fields=["state"])
    event = logbook.append(
        decal,
        kind=Kind.PIECE_SPOILED,
        to_stage=Stage(decal.stage),
        at=moment,
        moment=moment,
        by=by,
        reason=reason,
        cause=cause,
        pieces=[found],
    )
    refresh([decal])
    return event
