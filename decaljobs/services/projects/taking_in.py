"""Projects and decals brought in many at a time: all of them, or none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction

from decaljobs.models import Decal, Project
from decaljobs.services.bench.outlooks import refresh
from decaljobs.services.codes import next_codes
from decaljobs.services.projects.projects import new_decals
from decaljobs.services.refused import Refused

#: Decals brought in at one go: what one lock on the records is kept for.
MOST_DECALS = 2000


@transaction.atomic
def take_in_projects(*, lines: Sequence[Mapping[str, Any]], moment: datetime) -> list[Project]:
    """New projects, those without a code with the next free ones. Raises Refused."""
    given = [line["code"] for line in lines if line["code"]]
    free = iter(next_codes(Project.objects.all(), "P", len(lines), besides=given))
    projects = [
        Project(made_at=moment, **{**line, "code": line["code"] or next(free)}) for line in lines
    ]
    try:
        with transaction.atomic():
            return Project.objects.bulk_create(projects)
    except IntegrityError as error:
        raise Refused("A code was taken meanwhile, and nothing was saved: look again.") from error


@transaction.atomic
def take_in_decals(*, lines: Sequence[Mapping[str, Any]], moment: datetime) -> list[Decal]:
    """New decals, as many for each line as it asks for. Raises Refused."""
    decals = [decal for line in lines for decal in new_decals(moment=moment, **line)]
    if len(decals) > MOST_DECALS:
        raise Refused(f"{len(decals):,} decals are too many at one go: divide them.")
    try:
        with transaction.atomic():
            made = Decal.objects.bulk_create(decals)
    except IntegrityError as error:
        raise Refused("A place was taken meanwhile, and nothing was saved: look again.") from error
    refresh(made)
    return made
