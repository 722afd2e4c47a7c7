"""Panels of a project, and decals put on them, moved, and taken off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from django.db import IntegrityError, transaction

from decaljobs.craft.placing import Distances, Placed, distances, warnings_of
from decaljobs.craft.placing import Panel as PanelSize
from decaljobs.models import Decal, Panel, Placing, Project
from decaljobs.services.refused import Refused
from decaljobs.shown import ways

MOST_PANELS = 40


@dataclass(frozen=True)
class PlacedDecal:
    """A decal on a panel: its record, where it lies, and how far from the edges, mm."""

    placing: Placing
    placed: Placed
    free: Distances


@dataclass(frozen=True)
class PanelShown:
    """A panel with its decals, and a sentence for all that is wrong on it."""

    panel: Panel
    decals: tuple[PlacedDecal, ...]
    warnings: tuple[str, ...]


def panels_of(project: Project) -> list[PanelShown]:
    """The panels of a project with what lies on them (2 queries, one where there is none)."""
    return [_shown(panel) for panel in project.panels.with_decals()]


def placed_on(panel: Panel) -> Iterator[Placed]:
    """What lies on a panel; fetch its placings with their decals and artwork beforehand."""
    for placing in panel.placings.all():
        artwork = placing.decal.artwork
        yield Placed(
            name=placing.decal.words,
            x_mm=float(placing.x_mm),
            y_mm=float(placing.y_mm),
            width_mm=float(artwork.width_mm),
            height_mm=artwork.height_mm,
            turn=float(placing.turn),
        )


def _shown(panel: Panel) -> PanelShown:
    size = PanelSize(float(panel.width_mm), float(panel.height_mm))
    placed = list(placed_on(panel))
    decals = tuple(
        PlacedDecal(placing, where, distances(size, where))
        for placing, where in zip(panel.placings.all(), placed, strict=True)
    )
    return PanelShown(panel, decals, warnings_of(size, placed, ways()))


@transaction.atomic
def add_panel(*, project: Project, name: str, width_mm: Decimal, height_mm: Decimal) -> Panel:
    """A new panel of a project, its size on the model. Raises Refused for a name that is taken."""
    if project.emptied_at:
        raise Refused("The bin was emptied: only its log is left.")
    if project.panels.count() >= MOST_PANELS:
        raise Refused(f"A project has at most {MOST_PANELS} panels.")
    return _keep(Panel(project=project, name=name, width_mm=width_mm, height_mm=height_mm))


@transaction.atomic
def change_panel(*, panel: Panel, name: str, width_mm: Decimal, height_mm: Decimal) -> Panel:
    """Rename or resize a panel; what lies on it keeps its place. Raises Refused."""
    panel.name, panel.width_mm, panel.height_mm = name, width_mm, height_mm
    return _keep(panel)


@transaction.atomic
def drop_panel(*, panel: Panel) -> None:
    """Remove a panel; its decals stay and lie nowhere."""
    panel.delete()


@transaction.atomic
def place_decal(
    *, decal: Decal, panel: Panel, x_mm: Decimal, y_mm: Decimal, turn: Decimal = Decimal(0)
) -> Placing:
    """Put a decal's centre on a place of a panel, mm from its lower left corner.

    turn: degrees anticlockwise, kept within one circle. Raises Refused for another project's.
    """
    if decal.project_id != panel.project_id:
        raise Refused(f"{decal.words} belongs to another project.")
    placing, _ = Placing.objects.update_or_create(
        decal=decal,
        defaults={"panel": panel, "x_mm": x_mm, "y_mm": y_mm, "turn": (turn % 360 + 360) % 360},
    )
    return placing


@transaction.atomic
def take_off(*, decal: Decal) -> None:
    """Take a decal off its panel. Raises Refused if it lies on none."""
    gone, _ = Placing.objects.filter(decal=decal).delete()
    if not gone:
        raise Refused(f"{decal.words} lies on no panel.")


def _keep(panel: Panel) -> Panel:
    try:
        with transaction.atomic():
            panel.save()
    except IntegrityError as error:
        raise Refused(f"There is a panel ‘{panel.name}’ already.") from error
    return panel
