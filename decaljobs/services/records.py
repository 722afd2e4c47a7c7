"""Finished work, looked back on: waits as they were, films, what failed, minutes by step."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Max, QuerySet

from decaljobs.craft.stages import Stage
from decaljobs.models import Project, Recipe, Sheet, StageEvent


@dataclass(frozen=True)
class Wait:
    """How long a decal lay at a stage before the next step was logged, hours."""

    decal: str
    stage: str
    hours: float
    early: bool


def finished_projects(*, moment: datetime, words: str = "") -> QuerySet[Project]:
    """Projects of which every decal is finished, and those put away, last worked on first."""
    found = Project.objects.kept().found(words).with_counts(moment)
    done = found.standing("finished")
    return done.annotate(worked_at=Max("decals__stage_at")).order_by("-worked_at", "-pk")


def real_waits(project: Project) -> list[Wait]:
    """Every wait of a project's decals as it really was, in order (one query)."""
    events = (
        StageEvent.objects.in_force()
        .filter(decal__project=project, kind="step")
        .select_related("decal__project")
        .order_by("decal", "number")
    )
    waits, before = [], None
    for event in events:
        if before is not None and before.decal_id == event.decal_id:
            gone = (event.at - before.at) / timedelta(hours=1)
            waits.append(
                Wait(
                    event.decal.words,
                    Stage(before.to_stage).words,
                    gone,
                    event.how == StageEvent.How.EARLY,
                )
            )
        before = event
    return waits


def failures(project: Project) -> QuerySet[StageEvent]:
    """Every mishap of a project that stands (one query)."""
    return (
        StageEvent.objects.in_force()
        .filter(decal__project=project, kind__in=["spoiled", "piece_spoiled"])
        .select_related("decal__project", "by")
        .order_by("at", "pk")
    )


def films_of(project: Project) -> QuerySet[Sheet]:
    """The sheets that a project's pieces lay on."""
    return Sheet.objects.filter(pieces__decal__project=project).distinct().order_by("code")


def recipes_of(project: Project) -> QuerySet[Recipe]:
    """Recipes of trials that began from the project's body colour."""
    found = Recipe.objects.filter(trial__start__iexact=project.body_colour)
    return found.select_related("trial")
