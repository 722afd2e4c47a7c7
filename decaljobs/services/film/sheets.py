"""Sheets of film: made, filled with pieces, printed and sealed coat by coat."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Max

from decaljobs.craft.stages import (
    LAYERS,
    Build,
    Film,
)
from decaljobs.craft.waits import Leg, after_coat, after_printing
from decaljobs.models import Person, Piece, PieceState, Sheet, SheetEvent
from decaljobs.models.pieces import MOST_COPIES
from decaljobs.services.bench import logbook
from decaljobs.services.bench.outlooks import good_pieces, refresh
from decaljobs.services.codes import made_with_next_code
from decaljobs.services.drying.air import Airs
from decaljobs.services.drying.waits import single_leg
from decaljobs.services.film.sheetlog import (
    append_sheet_event,
    carry_along,
    decals_on,
    lock_sheet,
    refuse_lost,
    settle_sheets,
    sheet_figures,
)
from decaljobs.services.layout.copies import copies_for
from decaljobs.services.money import estimates
from decaljobs.services.refused import Refused, TooEarly
from decaljobs.services.stores import stock
from decaljobs.services.words import say_ready

#: Common practice, by analogy with label sheets.
NOT_FED = (
    "film that was partly cut away or went through the fuser may lift or melt there. "
    "It can be printed once the owner has said why this film allows it."
)


@transaction.atomic
def make_sheet(*, moment: datetime, by: Person | None = None, **fields: Any) -> Sheet:
    """A new sheet with the next free code of its film: W-07 for white, C-03 for clear.

    by: who takes it from the stores.
    """
    sheet = made_with_next_code(
        Sheet.objects.all(),
        "W" if fields["film"] == Film.WHITE else "C",
        lambda code: Sheet.objects.create(code=code, made_at=moment, **fields),
    )
    stock.open_sheet(sheet=sheet, by=by, moment=moment)
    return sheet


@transaction.atomic
def put_on_sheet(*, sheet: int, decals: Sequence[int], copies: int | None) -> list[Piece]:
    """Add so many copies of each decal's layer to a sheet not printed yet. Raises Refused.

    copies: None adds as many as the rule gives, twins counted together.
    """
    found = lock_sheet(sheet)
    refuse_lost(found)
    if found.is_printed:
        raise Refused(f"Sheet {found.code} is printed already: nothing can be added to it.")
    if copies is not None and not 1 <= copies <= MOST_COPIES:
        raise Refused(f"Copies must be 1 to {MOST_COPIES}.")
    layer = Film(found.film).layer
    locked = logbook.lock(decals)
    highest = dict(found.pieces.filter(decal__in=locked).values_list("decal").annotate(Max("copy")))
    shares = copies_for(locked, layer) if copies is None else {}
    pieces = []
    for decal in locked:
        if layer not in LAYERS[Build(decal.build)]:
            raise Refused(f"{decal.words} is {Build(decal.build).words}: it has no {layer} layer.")
        first, number = highest.get(decal.pk, 0) + 1, shares.get(decal.pk, copies or 0)
        pieces += [
            Piece(decal=decal, sheet=found, layer=layer.value, copy=copy)
            for copy in range(first, first + number)
        ]
    if not pieces:
        raise Refused(
            "Enough good pieces lie here already: say how many copies you want all the same."
        )
    made = Piece.objects.bulk_create(pieces)
    refresh(locked)
    return made


@transaction.atomic
def take_off_sheet(*, piece: int) -> None:
    """Remove a piece from a sheet not printed yet. Raises Refused."""
    found = Piece.objects.select_related("sheet").filter(pk=piece).first()
    if found is None:
        raise Refused("This piece is no longer there.")
    sheet = lock_sheet(found.sheet_id)
    if sheet.is_printed:
        raise Refused(f"Sheet {sheet.code} is printed: spoil the piece instead.")
    decals = logbook.lock([found.decal_id])
    found.delete()
    refresh(decals)


@transaction.atomic
def log_printed(
    *,
    sheet: int,
    by: Person,
    moment: datetime,
    at: datetime | None = None,
    seen: int | None = None,
) -> SheetEvent:
    """Log that a sheet was printed; it moves every decal on it. Raises Refused."""
    found = lock_sheet(sheet, seen=seen)
    when = at or moment
    logbook.check_time(when, moment=moment, after=None, what="")
    refuse_lost(found)
    if found.is_printed:
        raise Refused(f"Sheet {found.code} is printed already.")
    if found.may_not_be_fed:
        raise Refused(f"Laser sheet {found.code} was cut: {NOT_FED}")
    if not found.pieces.exists():
        raise Refused(f"Nothing lies on sheet {found.code} yet: put decals on it first.")
    leg = single_leg("coat", after_printing(found.printer))
    estimates.keep_before_printing(sheet=found, moment=moment)
    found.printed_at = when
    return _work_sheet(found, SheetEvent.Kind.PRINTED, leg, when, moment, by)


@transaction.atomic
def log_coat(
    *,
    sheet: int,
    by: Person,
    moment: datetime,
    at: datetime | None = None,
    reason: str = "",
    seen: int | None = None,
) -> SheetEvent:
    """Log one sealing coat; the last one seals every decal on the sheet. Raises Refused."""
    found = lock_sheet(sheet, seen=seen)
    when = at or moment
    _check_coat(found, when, moment=moment, reason=reason)
    found.coats_done += 1
    last = found.is_sealed
    kind = after_coat(found.printer, found.sealer, last=last)
    leg = single_leg("cutting" if last else "coat", kind)
    return _work_sheet(found, SheetEvent.Kind.COAT, leg, when, moment, by, reason=reason)


def _work_sheet(
    sheet: Sheet,
    kind: str,
    leg: Leg,
    at: datetime,
    moment: datetime,
    by: Person,
    *,
    reason: str = "",
) -> SheetEvent:
    """Keep what was done to a sheet and carry every decal on it along."""
    airs = Airs()
    air = sheet_figures(sheet, at, airs)
    room = airs.room(sheet.room_id).pk
    sheet.worked_at, sheet.wait = at, leg.to_dict()
    sheet.stays = logbook.stays_since(at, room, sheet.stays)
    settle_sheets([sheet], airs)
    event = append_sheet_event(
        sheet,
        kind=kind,
        at=at,
        moment=moment,
        by=by,
        wait=sheet.wait,
        reason=reason.strip(),
        room_id=room,
        air=air,
    )
    sheet.save()
    stock.use_for_sheet(event, sheet)
    decals = decals_on(sheet)
    pieces = good_pieces(decals)
    for decal in decals:
        carry_along(decal, pieces.get(decal.pk, []), event, airs)
    refresh(decals, airs)
    return event


def _check_coat(sheet: Sheet, at: datetime, *, moment: datetime, reason: str) -> None:
    refuse_lost(sheet)
    if not sheet.is_printed:
        raise Refused(f"Sheet {sheet.code} is not printed yet.")
    if sheet.is_sealed:
        raise Refused(f"All {sheet.coats_wanted} coats are on sheet {sheet.code} already.")
    done = f"coat {sheet.coats_done}" if sheet.coats_done else "printing"
    logbook.check_time(at, moment=moment, after=sheet.worked_at, what=done)
    if not sheet.pieces.filter(state=PieceState.GOOD).exists():
        raise Refused(f"No good piece is left on sheet {sheet.code}.")
    if sheet.is_dry(at) or reason.strip():
        return
    when = say_ready(sheet.rested_at, now=moment)
    raise TooEarly(
        f"Sheet {sheet.code} is not dry enough for a coat before {when}. "
        "Leave it alone, or say why it is done all the same.",
        sheet.rested_at,
    )
