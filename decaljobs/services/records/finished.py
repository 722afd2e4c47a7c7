"""Finished work, looked back on: films, recipes and what failed."""

from __future__ import annotations

from datetime import datetime

import numpy as np
from django.db.models import Count, Max, QuerySet

from decaljobs.craft.colour import ciede2000, lab_from_srgb, parse_hex
from decaljobs.models import Project, Recipe, Sheet, StageEvent
from decaljobs.services.records.mishaps import SPOILED

#: Difference up to which a trial's paint is taken for a body's colour (a choice): what a trial
#: begins with is picked by eye.
SAME_PAINT = 6.0


def finished_projects(*, moment: datetime, words: str = "") -> QuerySet[Project]:
    """Projects of which every decal is finished, and those put away, last worked on first."""
    found = Project.objects.kept().found(words).with_counts(moment)
    done = found.standing("finished")
    return done.annotate(worked_at=Max("decals__stage_at")).order_by("-worked_at", "-pk")


def failures(project: Project) -> QuerySet[StageEvent]:
    """Every mishap of a project that stands (one query)."""
    return (
        StageEvent.objects.in_force()
        .filter(decal__project=project, kind__in=SPOILED)
        .select_related("decal__project", "by")
        .order_by("at", "pk")
    )


def films_of(project: Project) -> QuerySet[Sheet]:
    """The sheets that a project's pieces lay on."""
    return Sheet.objects.filter(pieces__decal__project=project).distinct().order_by("code")


def places_of(project: Project) -> tuple[str, ...]:
    """The places of a project's decals, each once, with how many there are (one query)."""
    counted = project.decals.values_list("place").annotate(number=Count("pk")).order_by("place")
    return tuple(place if number == 1 else f"{place}, {number} decals" for place, number in counted)


def recipes_of(project: Project) -> list[Recipe]:
    """Recipes of trials for paint of about a project's body colour, the nearest first."""
    body = _lab(project.body_colour)
    recipes = list(Recipe.objects.select_related("trial"))
    if not recipes:
        return []
    off = ciede2000(np.array([_lab(recipe.trial.start) for recipe in recipes]), body)
    near = sorted(zip(off.tolist(), recipes, strict=True), key=lambda pair: pair[0])
    return [recipe for difference, recipe in near if difference <= SAME_PAINT]


def _lab(colour: str) -> np.ndarray:
    return np.asarray(lab_from_srgb(np.array(parse_hex(colour), dtype=float)))
