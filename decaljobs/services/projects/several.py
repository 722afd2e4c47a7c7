"""Several decals of a project changed at one go: all of them, or none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import IntegrityError, transaction

from decaljobs.craft.stages import Build
from decaljobs.models import Artwork, Decal, Person, Piece, Room
from decaljobs.services.bench import logbook
from decaljobs.services.bench.moving import lies_in, move_decals
from decaljobs.services.bench.outlooks import refresh
from decaljobs.services.drying.air import Airs
from decaljobs.services.layout.queue import queue_decals
from decaljobs.services.refused import Refused
from decaljobs.services.saving import save_columns

LONGEST_PLACE: int = Decal._meta.get_field("place").max_length or 0


@dataclass(frozen=True)
class DecalChanges:
    """What is to become of the decals; what is None or empty stays as it is."""

    artwork: Artwork | None = None
    build: Build | None = None
    room: Room | None = None
    place_from: str = ""
    place_to: str = ""
    note: str = ""
    queue: bool = False

    @property
    def is_empty(self) -> bool:
        """Whether nothing is asked for."""
        return self == DecalChanges(place_to=self.place_to)


@transaction.atomic
def change_several(
    *, decals: Sequence[int], wishes: DecalChanges, by: Person, moment: datetime
) -> list[Decal]:
    """Change all these decals, or none of them. Raises Refused, naming the one that forbids it."""
    if wishes.is_empty:
        raise Refused("Say what is to become of the ticked decals.")
    locked = logbook.lock(decals)
    logbook.check_at_work(locked)
    on_film = set(Piece.objects.filter(decal__in=locked).values_list("decal_id", flat=True))
    for decal in locked:
        _change(decal, wishes, on_film=decal.pk in on_film)
    columns = ["artwork", "build", "place", "note"]
    try:
        with transaction.atomic():
            save_columns(locked, columns)
    except IntegrityError as error:
        raise Refused("Two decals would have the same place: nothing was changed.") from error
    refresh(locked)
    _move(locked, wishes, by, moment)
    if wishes.queue:
        queue_decals(decals=[decal.pk for decal in locked], by=by, moment=moment)
    return locked


def _change(decal: Decal, wishes: DecalChanges, *, on_film: bool) -> None:
    artwork, build = wishes.artwork or decal.artwork, wishes.build or Build(decal.build)
    if on_film and (artwork.pk != decal.artwork_id or build != decal.build):
        raise Refused(
            f"Pieces of {decal.words} are on a sheet: its artwork and build stay as they are."
        )
    place = decal.place
    if wishes.place_from:
        place = place.replace(wishes.place_from, wishes.place_to).strip()
    if not 1 <= len(place) <= LONGEST_PLACE:
        raise Refused(f"The place of {decal.words} would have {len(place)} letters.")
    decal.artwork, decal.build, decal.place = artwork, build.value, place
    decal.note = wishes.note or decal.note


def _move(decals: list[Decal], wishes: DecalChanges, by: Person, moment: datetime) -> None:
    """Carry those to the room that do not lie there yet."""
    if wishes.room is None:
        return
    airs = Airs()
    others = [decal.pk for decal in decals if lies_in(decal, airs).pk != wishes.room.pk]
    if others:
        move_decals(decals=others, room=wishes.room, by=by, moment=moment)
