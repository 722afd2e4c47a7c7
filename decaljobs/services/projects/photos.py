"""Photos kept, told apart, removed, put back, and dropped for good."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from decaljobs.craft.photo.keptphoto import ReadyPhoto
from decaljobs.craft.stages import Stage
from decaljobs.models import Decal, Person, Photo, Project
from decaljobs.services.files import atomic_with_files, drop_file, keep_file
from decaljobs.services.locking import lock_record
from decaljobs.services.refused import Refused


@dataclass(frozen=True)
class PhotoPair:
    """Two photos to be looked at side by side."""

    before: Photo
    after: Photo


@atomic_with_files()
def add_photos(
    *,
    project: Project,
    photos: Sequence[ReadyPhoto],
    by: Person | None,
    moment: datetime,
    decal: Decal | None = None,
    stage: Stage | None = None,
    caption: str = "",
) -> list[Photo]:
    """Keep photos of a project, or of one of its decals: all of them or none. Raises Refused."""
    if project.emptied_at:
        raise Refused("The bin was emptied: only its log is left.")
    kept = []
    for ready in photos:
        photo = Photo(
            project=project,
            decal=decal,
            stage=stage.value if stage else "",
            caption=caption,
            by=by,
            made_at=moment,
            width_px=ready.width_px,
            height_px=ready.height_px,
        )
        stem = uuid.uuid4().hex
        keep_file(photo.picture, f"{stem}.jpg", ready.picture)
        keep_file(photo.small, f"{stem}.jpg", ready.small)
        photo.save()
        kept.append(photo)
    return kept


@transaction.atomic
def change_photo(*, photo: int, stage: Stage | None, caption: str) -> Photo:
    """Say otherwise what a photo shows."""
    found = _lock(photo)
    found.stage, found.caption = stage.value if stage else "", caption
    found.save(update_fields=["stage", "caption"])
    return found


@transaction.atomic
def remove_photo(*, photo: int, moment: datetime) -> Photo:
    """Take a photo off all pages; it can be put back. Raises Refused if it is removed already."""
    found = _lock(photo)
    if found.removed_at is not None:
        raise Refused("This photo is removed already.")
    found.removed_at = moment
    found.save(update_fields=["removed_at"])
    return found


@transaction.atomic
def put_back(*, photo: int) -> Photo:
    """Show a removed photo again. Raises Refused if it is not removed."""
    found = _lock(photo)
    if found.removed_at is None:
        raise Refused("This photo is not removed.")
    found.removed_at = None
    found.save(update_fields=["removed_at"])
    return found


@transaction.atomic
def drop_photo(*, photo: int) -> None:
    """Delete a removed photo with its files. Raises Refused for one that is still shown."""
    found = _lock(photo)
    if found.removed_at is None:
        raise Refused("Remove the photo first: what is shown is not deleted at one go.")
    drop_photos(photos=[found])


@transaction.atomic
def drop_photos(*, photos: Iterable[Photo]) -> None:
    """Delete photos with their files, as when their project goes for good."""
    for photo in photos:
        drop_file(photo.picture)
        drop_file(photo.small)
        photo.delete()


def before_and_after(
    photos: Sequence[Photo], *, before: int | None = None, after: int | None = None
) -> PhotoPair | None:
    """Two of these photos, oldest first: those named, else the first and the last.

    None where there are fewer than two, or where the same one was named twice.
    """
    if len(photos) < 2:
        return None
    by_number = {photo.pk: photo for photo in photos}
    first = by_number.get(before or 0, photos[0])
    last = by_number.get(after or 0, photos[-1])
    return PhotoPair(first, last) if first != last else None


def _lock(photo: int) -> Photo:
    return lock_record(Photo.objects.all(), photo, "photo")
