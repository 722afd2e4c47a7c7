"""All that is kept, as backups are compared, and a backup of a little."""

from __future__ import annotations

import hashlib
from pathlib import Path

from django.conf import settings

from decaljobs.craft.stages import Film
from decaljobs.models import Person
from decaljobs.services.safekeeping.backups import take_backup
from decaljobs.services.safekeeping.row_copy import record_models
from tests.factories import EVENING, make_decals, sealed_sheet


def everything() -> dict[str, list[tuple[str, str]] | list[str]]:
    """Every row of every kind of record, and every picture with its digest."""
    rows = {
        model._meta.label: sorted(map(repr, model._base_manager.values_list()))
        for model in record_models()
    }
    media = Path(settings.MEDIA_ROOT)
    files = [
        (path.relative_to(media).as_posix(), hashlib.sha256(path.read_bytes()).hexdigest())
        for path in sorted(media.rglob("*"))
        if path.is_file()
    ]
    return {**rows, "files": files}


def back_up_two_decals(folder: Path, by: Person) -> Path:
    """A backup of two decals on a sealed sheet."""
    sealed_sheet(Film.WHITE, make_decals(2), by)
    path = folder / "kept.zip"
    take_backup(path, moment=EVENING)
    return path
