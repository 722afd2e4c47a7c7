"""Decals that wait for the next sheet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from django.db import transaction

from decaljobs.craft.stages import LAYERS, Build, Layer
from decaljobs.models import Decal, Person, Piece, PieceState, QueuedDecal
from decaljobs.models.pieces import MOST_COPIES
from decaljobs.services.bench import logbook
from decaljobs.services.refused import Refused

#: Decals that one sheet after the other is laid out for at one go.
MOST_QUEUED = 500


@transaction.atomic
def queue_decals(*, decals: Sequence[int], by: Person, moment: datetime) -> list[QueuedDecal]:
    """Put decals on the list for the next sheet; those on it stay as they are. Raises Refused."""
    locked = logbook.lock(decals)
    logbook.check_at_work(locked)
    wanted = layers_wanted(locked)
    done = [decal for decal in locked if not wanted[decal.pk]]
    if done:
        raise Refused(f"{done[0].words} has every layer on the model: it wants no more film.")
    known = set(QueuedDecal.objects.filter(decal__in=locked).values_list("decal_id", flat=True))
    if QueuedDecal.objects.count() + len(locked) - len(known) > MOST_QUEUED:
        raise Refused(f"{MOST_QUEUED} decals wait for a sheet already: lay them out first.")
    return QueuedDecal.objects.bulk_create(
        QueuedDecal(decal=decal, queued_at=moment, by=by)
        for decal in locked
        if decal.pk not in known
    )


@transaction.atomic
def queue_project(*, project: str, by: Person, moment: datetime) -> list[QueuedDecal]:
    """Queue every decal of a project that is held for want of a piece. Raises Refused."""
    lacking = (
        Decal.objects.at_work().lacking_pieces().of_project(project).values_list("pk", flat=True)
    )
    if not lacking:
        raise Refused("No decal of this project is short of a piece.")
    return queue_decals(decals=list(lacking), by=by, moment=moment)


@transaction.atomic
def unqueue(*, decals: Sequence[int]) -> int:
    """Take decals off the list for the next sheet; answers how many were on it."""
    gone, _ = QueuedDecal.objects.filter(decal__in=decals).delete()
    return gone


@transaction.atomic
def set_copies(
    *, decal: int, base: int | None, clear: int | None, upright: bool | None = None
) -> QueuedDecal:
    """Overrule how many copies of each layer are printed; None goes back to the rule.

    upright: whether the decal is never turned on the film; None leaves that as it is.
    """
    queued = QueuedDecal.objects.select_for_update().filter(decal=decal).first()
    if queued is None:
        raise Refused("This decal no longer waits for a sheet.")
    for copies in (base, clear):
        if copies is not None and not 1 <= copies <= MOST_COPIES:
            raise Refused(f"Copies must be 1 to {MOST_COPIES}.")
    queued.base_copies, queued.clear_copies = base, clear
    queued.save(update_fields=["base_copies", "clear_copies"])
    if upright is not None:
        (locked,) = logbook.lock([decal])
        locked.upright = upright
        locked.save(update_fields=["upright"])
    return queued


def layers_wanted(decals: Iterable[Decal]) -> dict[int, tuple[Layer, ...]]:
    """The layers of each decal that are not on the model yet, by decal (one query)."""
    listed = list(decals)
    laid = set(
        Piece.objects.filter(decal__in=[d.pk for d in listed], state=PieceState.USED).values_list(
            "decal_id", "layer"
        )
    )
    return {
        decal.pk: tuple(
            layer for layer in LAYERS[Build(decal.build)] if (decal.pk, layer.value) not in laid
        )
        for decal in listed
    }
