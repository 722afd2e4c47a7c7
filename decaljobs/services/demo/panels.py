"""Panels of the example's models, and where their decals sit: the place, its number, mm, degrees.

On the tram's side the second shield still sits too close to the first, as a first try does.
"""

from __future__ import annotations

from decimal import Decimal

from decaljobs.models import Decal, Project
from decaljobs.services.projects.placing import add_panel, place_decal

PANELS = (
    ("Carnival wagon", "Left side", 132, 40, (("Side board, left", 1, 66, 25, 0),)),
    ("Carnival wagon", "Right side", 132, 40, (("Side board, right", 1, 66, 25, 0),)),
    ("Carnival wagon", "Front", 46, 38, (("Drawbar", 1, 23, 14, 45),)),
    (
        "Harbour tram 3",
        "Side",
        128,
        26,
        (
            ("Side, town shield", 1, 22, 15, 0),
            ("Side, town shield", 2, 29, 15, 0),
            ("Rocker panel", 1, 64, 4, 0),
        ),
    ),
    ("Harbour tram 3", "Dash", 28, 18, (("Dash, both ends", 1, 14, 11, 0),)),
    ("Racing seaplane Tern", "Fin", 30, 34, (("Fin", 1, 13, 18, 12),)),
)


def load_panels() -> None:
    """Make the panels and put the decals on them."""
    for project_name, name, width, height, places in PANELS:
        project = Project.objects.get(example=True, name=project_name)
        panel = add_panel(
            project=project, name=name, width_mm=Decimal(width), height_mm=Decimal(height)
        )
        for place, number, x, y, turn in places:
            decal = Decal.objects.get(project=project, place=place, number=number)
            place_decal(
                decal=decal,
                panel=panel,
                x_mm=Decimal(x),
                y_mm=Decimal(y),
                turn=Decimal(turn),
            )
