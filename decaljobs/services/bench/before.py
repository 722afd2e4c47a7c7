"""The bench as it was: what the logs held at a moment gone by."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction
from django.db.models import Q

from decaljobs.models import Decal, Piece, PieceState, Sheet, SheetEvent, StageEvent, StockLine
from decaljobs.services.bench import logbook
from decaljobs.services.bench.entries import BenchEntry, bench_at
from decaljobs.services.bench.outlooks import refresh
from decaljobs.services.drying.air import Airs
from decaljobs.services.film.lending import LENDING, put_back_before
from decaljobs.services.film.sheet_undoing import stand_where_sheet_log_says


def bench_then(*, moment: datetime) -> dict[str, list[BenchEntry]]:
    """The bench at a moment gone by, by what was done up to then.

    Everything done later is taken out of the logs, the bench is read, and all is put back:
    nothing of it is ever kept. Pieces are taken to have lain on their sheets all along.
    """
    with transaction.atomic():
        _forget_what_came_later(moment)
        found = bench_at(moment=moment)
        transaction.set_rollback(True)
    return found


def _forget_what_came_later(moment: datetime) -> None:
    # What the clock did is written down with the next step only: before that it is not logged.
    unwritten = Q(how=logbook.How.CLOCK, logged_at__gt=moment)
    on_decals = StageEvent.objects.filter(Q(at__gt=moment) | unwritten)
    on_sheets = SheetEvent.objects.filter(at__gt=moment)
    sheets = list(Sheet.objects.filter(pk__in=on_sheets.values("sheet")))
    numbers = set(on_decals.values_list("decal", flat=True))
    numbers |= set(Piece.objects.filter(sheet__in=sheets).values_list("decal", flat=True))
    put_back_before(on_decals)
    StageEvent.pieces.through.objects.filter(stageevent__in=on_decals).delete()
    used = StockLine.objects.filter(Q(stage_event__in=on_decals) | Q(sheet_event__in=on_sheets))
    StockLine.objects.filter(undoes__in=used).delete()
    used.delete()
    # The undone are kept from being deleted by what undoes them, so those go first.
    for events in (on_decals, on_sheets):
        events.filter(undoes__isnull=False).delete()
        events.delete()
    airs = Airs()
    for sheet in sheets:
        _stand_sheet(sheet, airs)
    decals = logbook.lock(numbers)
    _mend_pieces(decals)
    for decal in decals:
        logbook.stand_where_log_says(decal)
    refresh(decals, airs)


def _stand_sheet(sheet: Sheet, airs: Airs) -> None:
    stand_where_sheet_log_says(sheet, airs)
    lost = sheet.events.in_force().filter(kind=SheetEvent.Kind.LOST).last()
    sheet.lost_at = lost.at if lost else None
    sheet.save()


def _mend_pieces(decals: Iterable[Decal]) -> None:
    """Pieces are used or spoiled where a line that is left says so, and good otherwise."""
    Piece.objects.filter(decal__in=decals).update(state=PieceState.GOOD)
    left = StageEvent.objects.in_force().filter(decal__in=decals).exclude(pieces=None)
    for event in left.exclude(kind__in=LENDING).order_by("number").prefetch_related("pieces"):
        used = event.kind == logbook.Kind.STEP
        state = PieceState.USED if used else PieceState.SPOILED
        event.pieces.update(state=state)
