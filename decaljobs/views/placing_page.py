"""The panels of a project, worked out beforehand for the pages that draw them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from decaljobs.forms.placing import PanelForm, PlaceForm
from decaljobs.models import Decal, Placing, Project
from decaljobs.services.projects.placing import PanelShown, PlacedDecal, panels_of
from decaljobs.services.words import say_figure

#: A panel much smaller than the largest is still drawn this wide, in hundredths of the page.
LEAST_SHARE = 30
#: White round the panel in its drawing, mm for each mm of its longer side: what hangs over shows.
RIM = 0.04


@dataclass(frozen=True)
class DrawnDecal:
    """A decal on the drawing: its centre in the drawing's mm, which run downwards, and a form."""

    decal: Decal
    placing: Placing
    x: float
    y: float
    left: float
    top: float
    width: float
    height: float
    turn: float
    lies: PlacedDecal
    form: PlaceForm | None


@dataclass(frozen=True)
class DrawnPanel:
    """A panel as SVG shows it: its frame in mm, its decals, its warnings, and its forms."""

    shown: PanelShown
    share: int
    rim: float
    decals: list[DrawnDecal]
    add_form: PlaceForm | None

    @property
    def width(self) -> float:
        return float(self.shown.panel.width_mm)

    @property
    def height(self) -> float:
        return float(self.shown.panel.height_mm)

    @property
    def view_box(self) -> str:
        wide, high = self.width + 2 * self.rim, self.height + 2 * self.rim
        return f"{-self.rim:.2f} {-self.rim:.2f} {wide:.2f} {high:.2f}"


def drawn_panels(project: Project) -> list[DrawnPanel]:
    """A project's panels with what lies on them, for looking at (1 query, 2 with panels)."""
    return list(_drawn(panels_of(project)))


def placing_context(
    project: Project,
    *,
    panel_form: PanelForm | None = None,
    place_forms: dict[int, PlaceForm] | None = None,
) -> dict[str, Any]:
    """The page on which panels are made and decals put on them, with forms that came back.

    place_forms: a form that came back by the panel it was sent to.
    """
    shown = panels_of(project)
    unplaced = project.decals.filter(placing=None).order_by("place", "number")
    forms = _Forms(project, list(unplaced), place_forms or {})
    return {
        "project": project,
        "panels": list(_drawn(shown, forms)),
        "unplaced": list(unplaced),
        "panel_form": panel_form or PanelForm(project=project),
    }


class _Forms:
    """The forms beside a drawing: one for each decal on it, and one for the next."""

    def __init__(
        self, project: Project, unplaced: list[Decal], came_back: dict[int, PlaceForm]
    ) -> None:
        self.project, self.unplaced, self.came_back = project, unplaced, came_back

    def of_decal(self, panel: int, lies: PlacedDecal) -> PlaceForm:
        decal = lies.placing.decal
        came_back = self.came_back.get(panel)
        if came_back is not None and came_back["decal"].value() == str(decal.pk):
            return came_back
        lie = lies.placing
        start = {"x_mm": lie.x_mm, "y_mm": lie.y_mm, "turn": say_figure(lie.turn)}
        return PlaceForm(
            initial={"decal": decal.pk, **start},
            decals=self.project.decals.all(),
            panel=panel,
        )

    def of_next(self, shown: PanelShown) -> PlaceForm | None:
        panel = shown.panel
        placed = {str(lies.placing.decal_id) for lies in shown.decals}
        came_back = self.came_back.get(panel.pk)
        if came_back is not None and came_back["decal"].value() not in placed:
            return came_back
        if not self.unplaced:
            return None
        middle = {"x_mm": panel.width_mm / 2, "y_mm": panel.height_mm / 2}
        form = PlaceForm(initial=middle, decals=self.project.decals.none(), panel=panel.pk)
        form.fields["decal"].choices = [(decal.pk, decal.words) for decal in self.unplaced]
        return form


def _drawn(shown: list[PanelShown], forms: _Forms | None = None) -> Iterator[DrawnPanel]:
    widest = max((float(one.panel.width_mm) for one in shown), default=1.0)
    for one in shown:
        panel = one.panel
        width, height = float(panel.width_mm), float(panel.height_mm)
        decals = [
            _drawn_decal(height, lies, forms.of_decal(panel.pk, lies) if forms else None)
            for lies in one.decals
        ]
        yield DrawnPanel(
            shown=one,
            share=max(LEAST_SHARE, round(100 * width / widest)),
            rim=max(width, height) * RIM,
            decals=decals,
            add_form=forms.of_next(one) if forms else None,
        )


def _drawn_decal(height: float, lies: PlacedDecal, form: PlaceForm | None) -> DrawnDecal:
    placed = lies.placed
    return DrawnDecal(
        decal=lies.placing.decal,
        placing=lies.placing,
        x=placed.x_mm,
        y=height - placed.y_mm,
        left=-placed.width_mm / 2,
        top=-placed.height_mm / 2,
        width=placed.width_mm,
        height=placed.height_mm,
        turn=(360 - placed.turn) % 360,
        lies=lies,
        form=form,
    )
