"""The queue and its layout as the page of the next sheet shows them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from decaljobs.forms.next_sheet import CopiesForm
from decaljobs.services.layout.copies import Wanted
from decaljobs.services.layout.layouts import Laid, LaidPiece, Plan
from decaljobs.views.drawn_places import DrawnPlace, drawn_place


@dataclass(frozen=True)
class QueueRow:
    """A queued decal with its copies and the form that overrules them."""

    wanted: Wanted
    form: CopiesForm


@dataclass(frozen=True)
class DrawnSheet:
    """A set of places to be drawn, with what it is in words and how full it is."""

    laid: Laid
    title: str
    percent: int
    places: tuple[tuple[LaidPiece, DrawnPlace], ...]
    view: str
    width: str
    height: str


def queue_rows(wanted: Iterable[Wanted], refused: tuple[int, CopiesForm] | None) -> list[QueueRow]:
    """The queue with a form each; the one that was refused says why."""
    return [
        QueueRow(want, refused[1] if refused and refused[0] == want.decal.pk else _form(want))
        for want in wanted
    ]


def drawn_sheets(plan: Plan) -> list[DrawnSheet]:
    """Every set of places of a plan."""
    return [_drawn(laid) for laid in plan.laid]


def _form(want: Wanted) -> CopiesForm:
    start = {
        "base": want.row.base_copies,
        "clear": want.row.clear_copies,
        "upright": want.decal.upright,
    }
    form = CopiesForm(initial=start, decal=want.decal.pk)
    on_it = {layer.layer.value: layer for layer in want.told}
    for name in ("base", "clear"):
        if name not in on_it:
            del form.fields[name]
        else:
            form.fields[name].widget.attrs["placeholder"] = on_it[name].advised.share
    return form


def _drawn(laid: Laid) -> DrawnSheet:
    films = " and ".join(film.value for film in laid.films)
    title = f"New sheet of {films} film" if len(laid.films) < 2 else "New sheets, white and clear"
    if laid.offcuts:
        codes = " and ".join(sheet.code for sheet in laid.offcuts)
        title = f"Offcut{'s' if len(laid.offcuts) > 1 else ''} {codes}, {films}"
    return DrawnSheet(
        laid=laid,
        title=title,
        percent=round(100 * laid.fullness),
        places=tuple((piece, drawn_place(piece.place, piece.outline)) for piece in laid.pieces),
        view=f"-1 -1 {laid.width_mm + 2:.1f} {laid.height_mm + 2:.1f}",
        width=f"{laid.width_mm:.1f}",
        height=f"{laid.height_mm:.1f}",
    )
