"""Models of the example that are off the bench: one put away for later, one thrown away."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from decaljobs.craft.stages import Build
from decaljobs.models import Artwork
from decaljobs.services.projects import bin as bins
from decaljobs.services.projects import projects

PUT_AWAY = ("Signal cabin", "4 mm/ft: waits for its windows.", "#4a5a3c")
THROWN_AWAY = ("Pilot launch, first try", "Bought in the wrong scale.", "#1d2f57")


def load_put_away(*, artwork: Artwork, begun: datetime, moment: datetime) -> None:
    """Two projects more, on which nothing was ever logged."""
    away, gone = (
        projects.make_project(
            moment=begun,
            name=name,
            notes=notes,
            body_colour=colour,
            scale_ratio=Decimal("76.2"),
            example=True,
        )
        for name, notes, colour in (PUT_AWAY, THROWN_AWAY)
    )
    projects.add_decals(
        project=away,
        artwork=artwork,
        place="Name board",
        build=Build.LAMINATED,
        count=2,
        moment=begun,
    )
    bins.put_away(project=away.pk, moment=moment)
    bins.throw_away(project=gone.pk, moment=moment)
