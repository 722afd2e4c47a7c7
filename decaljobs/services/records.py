"""Finished work, looked back on: films, recipes and what failed."""

from __future__ import annotations

from datetime import datetime

from django.db.models import Max, QuerySet

from decaljobs.models import Project, Recipe, Sheet, StageEvent


def finished_projects(*, moment: datetime, words: str = "") -> QuerySet[Project]:
    """Projects of which every decal is finished, and those put away, last worked on first."""
    found = Project.objects.kept().found(words).with_counts(moment)
    done = found.standing("finished")
    return done.annotate(worked_at=Max("decals__stage_at")).order_by("-worked_at", "-pk")


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
