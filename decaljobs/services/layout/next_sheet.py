"""From the queue to sheets: what is planned is laid down, unless somebody was quicker."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from hashlib import sha256

from django.db import transaction

from decaljobs.craft.layout.model import ways_to_lie
from decaljobs.craft.stages import Film, Layer
from decaljobs.models import Decal, Person, Piece, QueuedDecal, Sheet
from decaljobs.services.bench import logbook
from decaljobs.services.bench.outlooks import refresh
from decaljobs.services.film.sheet_places import place_fields
from decaljobs.services.film.sheets import make_sheet
from decaljobs.services.layout.layouts import Laid, LayoutWishes, Plan, kind_of, plan_layout
from decaljobs.services.refused import Overtaken, Refused

#: Gaps that the page compares, mm.
GAPS = (2.0, 3.0, 4.0)
#: Time for each of them, s.
GAP_SECONDS = 0.15
#: Decals proposed for the rest of a sheet.
MOST_PROPOSED = 12


def fingerprint(rows: Iterable[QueuedDecal], offcuts: Iterable[Sheet]) -> str:
    """What a page was drawn from: another queue or other offcuts have another one."""
    parts = [
        f"{row.decal_id}:{row.base_copies}:{row.clear_copies}:{row.decal.upright}" for row in rows
    ]
    parts += [f"{sheet.pk}:{sheet.width_mm}:{sheet.height_mm}" for sheet in offcuts]
    return sha256("/".join(parts).encode()).hexdigest()[:16]


@transaction.atomic
def lay_down(*, plan: Plan, by: Person, moment: datetime) -> list[Sheet]:
    """Make the sheets of a plan with their pieces, and empty the queue of what lies on them.

    Raises Overtaken where the queue or an offcut changed since it was planned.
    """
    rows = _lock_queue(plan)
    offcuts = _lock_offcuts(plan)
    decals = {decal.pk: decal for decal in logbook.lock(row.decal_id for row in rows)}
    if any(decals[want.decal.pk].upright != want.decal.upright for want in plan.wanted):
        raise Overtaken("How a decal may lie was changed meanwhile: look at the new layout.")
    sheets: list[Sheet] = []
    wanted = {want.decal.pk: {layer.layer for layer in want.layers} for want in plan.wanted}
    # Film for the example workshop alone is taken from its own stores, and is cleared with it.
    example = all(want.decal.project.example for want in plan.wanted)
    for laid in plan.laid:
        for film in laid.films:
            offcut = _offcut_of(laid, film)
            if offcut is None:
                sheet = _new_sheet(film, plan.wishes, by=by, moment=moment, example=example)
            else:
                sheet = offcuts[offcut]
            _keep_manner(sheet, plan.wishes)
            _put_pieces(sheet, laid, wanted)
            sheets.append(sheet)
    QueuedDecal.objects.filter(pk__in=[row.pk for row in rows]).delete()
    refresh(decals.values())
    return sheets


def gap_costs(plan: Plan, offcuts: Sequence[Sheet]) -> list[tuple[float, float]]:
    """What each gap would cost: gap in mm and film in cm², by a short search each.

    Pieces that keep a wide gap keep a narrow one too, so none costs more than a wider one.
    """
    best = {plan.wishes.gap: plan.film_mm2}
    for gap in GAPS:
        wishes = replace(plan.wishes, gap=gap, seconds=GAP_SECONDS)
        try:
            film = plan_layout(plan.wanted, wishes, offcuts).film_mm2
        except Refused:
            continue
        best[gap] = min(film, best.get(gap, film))
    return [
        (gap, min(film for wider, film in best.items() if wider >= gap) / 100)
        for gap in GAPS
        if gap in best
    ]


def still_fitting(plan: Plan) -> list[Decal]:
    """Decals without a piece, not queued, that would go into the rest of the last sheet."""
    wide, high = plan.laid[-1].rest
    gap = plan.wishes.gap
    waiting = without_pieces(10 * MOST_PROPOSED)
    return [decal for decal in waiting if _fits(decal, wide - gap, high - gap)][:MOST_PROPOSED]


def without_pieces(most: int = MOST_PROPOSED) -> list[Decal]:
    """Decals at work without a piece that are not queued, the soonest due first."""
    waiting = Decal.objects.at_work().lacking_pieces().filter(queued=None)
    return list(waiting.select_related("project", "artwork").order_by("project__due", "pk")[:most])


def _fits(decal: Decal, wide: float, high: float) -> bool:
    """Whether a decal goes on so much film, mm, as it may lie."""
    return any(
        across <= wide and along <= high for across, along in ways_to_lie(kind_of(decal, copies=1))
    )


def _lock_queue(plan: Plan) -> list[QueuedDecal]:
    planned = {want.row.pk: want.row for want in plan.wanted}
    rows = list(QueuedDecal.objects.select_for_update().filter(pk__in=planned).order_by("pk"))
    same = all(
        (row.base_copies, row.clear_copies)
        == (planned[row.pk].base_copies, planned[row.pk].clear_copies)
        for row in rows
    )
    if len(rows) != len(planned) or not same:
        raise Overtaken(
            "The queue has moved on: somebody laid it out, or changed it. Nothing was done twice."
        )
    return rows


def _lock_offcuts(plan: Plan) -> dict[int, Sheet]:
    planned = {sheet.pk: sheet for laid in plan.laid for sheet in laid.offcuts}
    locked = {
        sheet.pk: sheet
        for sheet in Sheet.objects.select_for_update().filter(pk__in=planned).order_by("pk")
    }
    clean = set(Sheet.objects.clean_offcuts().filter(pk__in=planned).values_list("pk", flat=True))
    for pk, before in planned.items():
        now = locked.get(pk)
        size = (before.width_mm, before.height_mm)
        if now is None or pk not in clean or (now.width_mm, now.height_mm) != size:
            raise Overtaken(
                f"Offcut {before.code} was taken by somebody else meanwhile: "
                "look at the new layout. Nothing was laid out twice."
            )
    return locked


def _offcut_of(laid: Laid, film: Film) -> int | None:
    return next((sheet.pk for sheet in laid.offcuts if sheet.film == film), None)


def _new_sheet(
    film: Film, wishes: LayoutWishes, *, by: Person, moment: datetime, example: bool
) -> Sheet:
    sealer, coats = Sheet.objects.usual_sealing(wishes.printer)
    return make_sheet(
        by=by,
        moment=moment,
        example=example,
        film=film.value,
        printer=wishes.printer,
        sealer=sealer,
        coats_wanted=coats,
        width_mm=wishes.width_mm,
        height_mm=wishes.height_mm,
        margin_mm=wishes.margin_mm,
    )


def _keep_manner(sheet: Sheet, wishes: LayoutWishes) -> None:
    """How its pieces lie, for when they are laid out or squeezed once more."""
    sheet.gap_mm, sheet.straight_cuts = Decimal(str(wishes.gap)), wishes.straight_cuts
    sheet.save(update_fields=["gap_mm", "straight_cuts"])


def _put_pieces(sheet: Sheet, laid: Laid, wanted: dict[int, set[Layer]]) -> None:
    """A piece at every place whose decal wants this layer: a shared place costs no more film."""
    layer = Film(sheet.film).layer
    copies: Counter[int] = Counter()
    pieces = []
    for laid_piece in laid.pieces:
        decal = laid_piece.decal
        if layer not in wanted[decal.pk]:
            continue
        copies[decal.pk] += 1
        pieces.append(
            Piece(
                decal=decal,
                sheet=sheet,
                layer=layer.value,
                copy=copies[decal.pk],
                outline=laid_piece.outline,
                **place_fields(laid_piece.place),
            )
        )
    Piece.objects.bulk_create(pieces)
