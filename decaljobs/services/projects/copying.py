"""A project taken as the pattern of a new one."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from decaljobs.models import Decal, Panel, Placing, Project
from decaljobs.services.bench.outlooks import refresh
from decaljobs.services.projects.projects import make_project

#: What makes the model; whose it is and when it is due belongs to the one before.
COPIED = ("scale_ratio", "body_colour", "finish", "overcoat", "notes")
COPIED_OF_DECALS = ("artwork_id", "place", "number", "out_of", "build", "note", "upright")


@transaction.atomic
def copy_project(*, project: Project, name: str, code: str, moment: datetime) -> Project:
    """A new project with the same decals, artwork, panels and places, and no log.

    Without a code it gets the next free one. A photo, a piece or a queued decal is not copied.
    """
    fields = {field: getattr(project, field) for field in COPIED}
    made = make_project(moment=moment, code=code, name=name, **fields)
    pattern = list(project.decals.order_by("pk"))
    copies = [
        Decal(
            project=made,
            made_at=moment,
            stage_at=moment,
            **{field: getattr(decal, field) for field in COPIED_OF_DECALS},
        )
        for decal in pattern
    ]
    decals = Decal.objects.bulk_create(copies)
    refresh(decals)
    _copy_places(project, made, {old.pk: new.pk for old, new in zip(pattern, decals, strict=True)})
    return made


def _copy_places(project: Project, made: Project, decals: dict[int, int]) -> None:
    """The panels of the model, with each new decal where its pattern sits."""
    panels = {}
    for panel in project.panels.order_by("pk"):
        panels[panel.pk] = Panel.objects.create(
            project=made, name=panel.name, width_mm=panel.width_mm, height_mm=panel.height_mm
        )
    Placing.objects.bulk_create(
        Placing(
            decal_id=decals[old.decal_id],
            panel=panels[old.panel_id],
            x_mm=old.x_mm,
            y_mm=old.y_mm,
            turn=old.turn,
        )
        for old in Placing.objects.filter(panel__in=panels)
    )
