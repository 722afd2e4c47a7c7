"""Projects and the decals they want."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction
from PIL.Image import Image

from decaljobs.craft.stages import Build, Stage
from decaljobs.craft.waits import WaitKind
from decaljobs.models import Artwork, Decal, Piece, Project
from decaljobs.models.decals import MOST_DECALS_AT_ONCE
from decaljobs.services.artwork.keeping import keep_ready_art, ready_art
from decaljobs.services.bench import logbook
from decaljobs.services.bench.outlooks import refresh
from decaljobs.services.codes import made_with_next_code
from decaljobs.services.drying.waits import single_leg
from decaljobs.services.files import atomic_with_files
from decaljobs.services.locking import lock_record
from decaljobs.services.refused import Refused


@transaction.atomic
def make_project(*, moment: datetime, code: str = "", **fields: Any) -> Project:
    """A new project; without a code it gets the next free one, such as P-04."""

    def make(code: str) -> Project:
        return Project.objects.create(code=code, made_at=moment, **fields)

    return make(code) if code else made_with_next_code(Project.objects.all(), "P", make)


@transaction.atomic
def change_project(*, project: Project, **fields: Any) -> Project:
    """Change a project; an overcoat wanted or called off moves its decals' next steps.

    Raises Refused for one that was emptied from the bin.
    """
    found = lock_record(Project.objects.all(), project.pk, "project")
    if found.emptied_at:
        raise Refused("The bin was emptied: only its log is left.")
    for name, value in fields.items():
        setattr(found, name, value)
    found.save(update_fields=list(fields))
    decals = logbook.lock(found.decals.values_list("pk", flat=True))
    _want_overcoat_waits(decals)
    refresh(decals)
    return found


def _want_overcoat_waits(decals: Iterable[Decal]) -> None:
    """A layer laid before the overcoat was wanted still waits for it, by the rule of today."""
    lacking = [decal for decal in decals if decal.project.overcoat and _lacks_overcoat_wait(decal)]
    if lacking:
        wait = single_leg(Stage.OVERCOATED.value, WaitKind.SET_OVERCOAT).to_dict()
        for decal in lacking:
            decal.waits = [*decal.waits, wait]


def _lacks_overcoat_wait(decal: Decal) -> bool:
    last_layer_on = decal.stage in (Stage.CLEAR_APPLIED, Stage.SET) or (
        decal.stage == Stage.BASE_APPLIED and decal.build == Build.WHITE_ALONE
    )
    return last_layer_on and all(leg["to"] != Stage.OVERCOATED for leg in decal.waits)


@transaction.atomic
def add_decals(
    *,
    project: Project,
    artwork: Artwork,
    place: str,
    build: Build,
    count: int,
    moment: datetime,
    note: str = "",
) -> list[Decal]:
    """Add n decals at one place, each with a stage of its own. Raises Refused."""
    if not 1 <= count <= MOST_DECALS_AT_ONCE:
        raise Refused(f"Ask for 1 to {MOST_DECALS_AT_ONCE} decals at once.")
    if not project.is_at_work:
        raise Refused(f"{project} is put away or in the bin: bring it back first.")
    if project.decals.filter(place=place).exists():
        raise Refused(f"There is a decal for ‘{place}’ already: give this place another name.")
    wanted = new_decals(
        project=project,
        artwork=artwork,
        place=place,
        build=build,
        count=count,
        moment=moment,
        note=note,
    )
    made = Decal.objects.bulk_create(wanted)
    refresh(made)
    return made


def new_decals(
    *,
    project: Project,
    artwork: Artwork,
    place: str,
    build: Build,
    count: int,
    moment: datetime,
    note: str = "",
) -> list[Decal]:
    """Decals for one place, not saved yet."""
    return [
        Decal(
            project=project,
            artwork=artwork,
            place=place,
            build=build.value,
            number=number,
            out_of=count,
            note=note,
            made_at=moment,
            stage_at=moment,
        )
        for number in range(1, count + 1)
    ]


def add_decals_with_art(
    *,
    project: Project,
    artwork: Artwork | None,
    picture: Image | bytes | None,
    width_mm: Decimal | None,
    place: str,
    moment: datetime,
    **fields: Any,
) -> list[Decal]:
    """Add decals with artwork that is there, or with a picture kept under the place's name."""
    wanted = {"project": project, "place": place, "moment": moment, **fields}
    if artwork is not None:
        return add_decals(artwork=artwork, **wanted)
    if picture is None or width_mm is None:
        raise Refused("Choose artwork, or bring a picture and its print width.")
    art = ready_art(picture, width_mm)
    with atomic_with_files():
        kept = keep_ready_art(name=place, width_mm=width_mm, art=art, moment=moment)
        return add_decals(artwork=kept, **wanted)


@transaction.atomic
def change_decal(
    *, decal: int, artwork: Artwork, place: str, build: Build, note: str, upright: bool = False
) -> Decal:
    """Change what a decal is; its build and artwork only while nothing of it is printed."""
    (locked,) = logbook.lock([decal])
    if locked.pieces.exists() and (locked.build != build or locked.artwork_id != artwork.pk):
        raise Refused("Its pieces are on a sheet: the artwork and the build stay as they are.")
    locked.artwork, locked.place, locked.build, locked.note = artwork, place, build.value, note
    locked.upright = upright
    try:
        with transaction.atomic():
            locked.save()
    except IntegrityError as error:
        raise Refused(f"There is a decal for ‘{place}’ already.") from error
    refresh([locked])
    return locked


@transaction.atomic
def drop_decal(*, decal: int) -> None:
    """Remove a decal that was never printed. Raises Refused once anything is logged."""
    (locked,) = logbook.lock([decal])
    if locked.events_logged:
        raise Refused(f"{locked.words} has a log, which is kept: it cannot be removed.")
    Piece.objects.filter(decal=locked, sheet__printed_at__isnull=True).delete()
    locked.delete()
