"""What the page of one sheet shows: the sheet to scale, its next step, its pieces, its log."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Any

from django.db.models import Exists, OuterRef
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone

from decaljobs.craft.cautions import advice
from decaljobs.craft.layout.place import Place
from decaljobs.craft.stages import Film
from decaljobs.craft.waits import after_coat
from decaljobs.forms.film import CutOffForm, LostForm, PrintFileForm, RefeedForm
from decaljobs.forms.rooms import MoveForm
from decaljobs.forms.sheets import SheetLogForm
from decaljobs.forms.touch import TouchForm
from decaljobs.models import Decal, Piece, Sheet
from decaljobs.services.bench.moving import lies_in
from decaljobs.services.drying.air import Airs, airs_of
from decaljobs.services.drying.spraying import Spraying, spraying
from decaljobs.services.drying.waiting import wait_of_sheet
from decaljobs.services.film.offcuts import may_be_cut, suggested_cut
from decaljobs.services.film.printfile import base_arts_for, place_for_qr
from decaljobs.services.squeeze.laid_sheets import search_of
from decaljobs.views.batches import next_here
from decaljobs.views.drawn_places import DrawnPlace, drawn_place
from decaljobs.views.just_logged import just_logged
from decaljobs.views.pages import draw, page_of

#: Pieces drawn on the picture of a sheet; more are never laid on one.
MOST_DRAWN = 1000
#: More sheets with the other layer of one sheet's decals are not worth a line.
MOST_PARTNERS = 8


@dataclass(frozen=True)
class DrawnPiece:
    """A piece on the picture of its sheet, its figures as they stand in the drawing (mm)."""

    piece: Piece
    drawn: DrawnPlace
    right: str
    foot: str
    middle_x: str
    middle_y: str


def draw_sheet(
    request: HttpRequest,
    found: Sheet,
    form: Form | None = None,
    *,
    status: int | None = None,
    **forms: Form,
) -> HttpResponse:
    """The page of a sheet; with a form that was refused, beside whose fields it says why."""
    moment, airs = timezone.now(), airs_of(request)
    wait = wait_of_sheet(found, moment, airs)
    pieces = list(
        found.pieces.select_related("decal__project", "decal__artwork").order_by(
            "decal__project", "decal__place", "decal__number", "copy"
        )[:MOST_DRAWN]
    )
    page, log = page_of(pieces, request.GET), found.events.newest_first()
    context = {
        "sheet": found,
        "form": form or SheetLogForm(),
        "wait": wait,
        "wait_words": wait.told(moment).sentence if wait else "",
        "can_undo": next((line for line in log if line.stands), None),
        "page": page,
        "groups": [(decal, list(rows)) for decal, rows in groupby(page, lambda p: p.decal)],
        "events": log,
        "next_coat": found.coats_done + 1,
        "advice": advice(
            "coat" if found.is_printed else "printed", printer=found.printer, film=found.film
        ),
        "moment": moment,
        "just_logged": just_logged(
            request, sheet=found.code, decals={piece.decal_id for piece in pieces}
        ),
        "next_here": next_here(_ready_on(found, moment)),
        "spraying": _spraying(found, airs, moment),
        "lies_in": lies_in(found, airs),
        "touch_form": TouchForm(),
        "move_form": MoveForm(rooms=list(airs.rooms.values())),
        "drawn": [_drawn(piece, place) for piece in pieces if (place := piece.place)],
        "unplaced": sum(not piece.has_place for piece in pieces),
        "offcuts": found.offcuts.order_by("pk"),
        "partners": Sheet.objects.of_the_other_film(found)[:MOST_PARTNERS],
        **_film_forms(found, pieces, forms),
    }
    return draw(request, "sheet", context, status=status)


def get_sheet(code: str) -> Sheet:
    return get_object_or_404(Sheet.objects.select_related("cut_from").coded(code))


def _spraying(found: Sheet, airs: Airs, moment: datetime) -> Spraying | None:
    """Whether the next sealing coat may go on, where one is to come."""
    if not found.is_printed or found.is_sealed:
        return None
    last = found.coats_done + 1 >= found.coats_wanted
    kind = after_coat(found.printer, found.sealer, last=last)
    return spraying(room=lies_in(found, airs), kind=kind, airs=airs, moment=moment)


def _ready_on(found: Sheet, moment: datetime) -> list[Decal]:
    """The ready decals whose next layer lies on the sheet; none before it is sealed."""
    if not found.is_sealed:
        return []
    good = Piece.objects.good().filter(sheet=found, decal=OuterRef("pk"))
    ready = Decal.objects.at_work().next_on_layer(Film(found.film).layer).filter(Exists(good))
    return list(ready.ready_at(moment).select_related("project"))


def _film_forms(found: Sheet, pieces: list[Piece], given: dict[str, Form]) -> dict[str, Any]:
    """What can be done with the film itself."""
    side, at_mm = suggested_cut(found, pieces)
    placed = bool(pieces) and all(piece.has_place for piece in pieces)
    seen = found.events_logged
    start = {"side": side.value, "at_mm": at_mm, "seen": seen}
    return {
        "print_form": PrintFileForm(base_arts=base_arts_for(found, pieces)) if placed else None,
        "qr_place": place_for_qr(found, pieces) if placed else None,
        "cut_form": CutOffForm(initial=start) if may_be_cut(found) else None,
        "lost_form": LostForm(initial={"seen": seen}) if not found.is_lost else None,
        "refeed_form": RefeedForm(),
        **(_squeeze(found, pieces) if placed and _may_be_squeezed(found) else {}),
        **given,
    }


def _may_be_squeezed(found: Sheet) -> bool:
    """Not what is printed or lost, nor what straight cuts must free."""
    return not (found.is_printed or found.is_lost or found.straight_cuts)


def _squeeze(found: Sheet, pieces: list[Piece]) -> dict[str, Any]:
    """The squeeze that can be begun, runs, or is over."""
    last = search_of(found, timezone.now())
    kept = last.found if last and last.found else {}
    share = kept.get("saved_mm2", 0) / (kept.get("before_mm2") or 1)
    nested = all(piece.outline for piece in pieces)
    return {"may_squeeze": True, "squeeze": last, "saved_share": share, "nested": nested}


def _drawn(piece: Piece, place: Place) -> DrawnPiece:
    middle = place.x + place.width / 2, place.y + place.height / 2
    figures = (place.right, place.foot, *middle)
    drawn = drawn_place(place, piece.outline)
    return DrawnPiece(piece, drawn, *(f"{figure:.2f}" for figure in figures))
