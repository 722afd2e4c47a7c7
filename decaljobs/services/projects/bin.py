"""Projects put away, thrown away, brought back, and a bin that the owner empties.

The log is the truth and only grows: a project on which anything was ever logged or printed keeps
its decals, their log and their pieces for good, so that every sheet still accounts for its film
and the rates of success for every piece. Emptying takes the rest of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.db.models import Exists, OuterRef, Q, QuerySet

from decaljobs.models import Decal, Piece, Project, QueuedDecal, StageEvent
from decaljobs.services.bench import logbook
from decaljobs.services.bench.outlooks import refresh
from decaljobs.services.locking import lock_record
from decaljobs.services.projects.photos import drop_photos
from decaljobs.services.refused import Refused

#: What a project emptied from the bin goes by.
EMPTIED_NAME = "emptied from the bin"


@dataclass(frozen=True)
class Emptied:
    """How many projects went altogether, and how many left their log behind."""

    removed: int
    stripped: int


@transaction.atomic
def put_away(*, project: int, moment: datetime) -> Project:
    """Archive a project: off the bench and the lists, to be read and brought back."""
    found = _lock(project)
    if found.archived_at or found.binned_at:
        raise Refused(f"{found} is put away already.")
    found.archived_at = moment
    return _leave_the_bench(found)


@transaction.atomic
def throw_away(*, project: int, moment: datetime) -> Project:
    """Put a project into the bin, from which it can be brought back until it is emptied."""
    found = _lock(project)
    if found.binned_at:
        raise Refused(f"{found} is in the bin already.")
    found.binned_at = moment
    return _leave_the_bench(found)


@transaction.atomic
def bring_back(*, project: int) -> Project:
    """Take a project up again, from wherever it was put. Raises Refused."""
    found = _lock(project)
    if found.emptied_at:
        raise Refused("The bin was emptied: only its log is left.")
    if not found.archived_at and not found.binned_at:
        raise Refused(f"{found} is at work already.")
    found.archived_at = found.binned_at = None
    found.save(update_fields=["archived_at", "binned_at"])
    return found


@transaction.atomic
def empty_bin(*, moment: datetime) -> Emptied:
    """Empty the bin; what is logged or printed stays. Raises Refused when it is empty."""
    binned = list(Project.objects.binned().select_for_update().order_by("pk"))
    if not binned:
        raise Refused("The bin is empty already.")
    stripped = [project for project in binned if has_history(project)]
    for project in binned:
        drop_photos(photos=list(project.photos.all()))
        project.panels.all().delete()
        _drop_what_was_never_worked_on(project)
        if project in stripped:
            _strip(project, moment)
        else:
            project.delete()
    return Emptied(removed=len(binned) - len(stripped), stripped=len(stripped))


def in_the_bin(*, moment: datetime) -> QuerySet[Project]:
    """Projects in the bin, the last one thrown away first, each with whether emptying leaves its
    log behind (one query)."""
    stays = Exists(Decal.objects.filter(_worked_on(), project=OuterRef("pk")))
    binned = Project.objects.with_counts(moment).binned().annotate(stays=stays)
    return binned.order_by("-binned_at", "-pk")


def has_history(project: Project) -> bool:
    """Whether anything was ever logged on it, or film was printed for it."""
    return project.decals.filter(_worked_on()).exists()


def _worked_on() -> Q:
    printed = Piece.objects.filter(decal=OuterRef("pk"), sheet__printed_at__isnull=False)
    return Q(events_logged__gt=0) | Q(Exists(printed))


def _lock(project: int) -> Project:
    return lock_record(Project.objects.all(), project, "project")


def _leave_the_bench(project: Project) -> Project:
    QueuedDecal.objects.filter(decal__project=project).delete()
    project.save(update_fields=["archived_at", "binned_at"])
    return project


def _drop_what_was_never_worked_on(project: Project) -> None:
    """Pieces on sheets that are not printed, and decals on which nothing was logged."""
    told = StageEvent.objects.filter(pieces=OuterRef("pk"))
    planned = Piece.objects.filter(decal__project=project, sheet__printed_at=None)
    planned.filter(~Exists(told)).delete()
    without: QuerySet[Decal] = project.decals.filter(~_worked_on(), pieces=None)
    without.delete()


def _strip(project: Project, moment: datetime) -> None:
    project.name, project.customer, project.notes = EMPTIED_NAME, "", ""
    project.due, project.emptied_at = None, moment
    project.save()
    project.decals.update(note="")
    refresh(logbook.lock(project.decals.values_list("pk", flat=True)))
