"""The log of the stores: bought, opened, used by steps, counted, thrown away, and undone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction

from decaljobs.craft.doings import DOING_OF, Doing
from decaljobs.craft.stages import Stage
from decaljobs.models import (
    Person,
    Sheet,
    SheetEvent,
    StageEvent,
    StockLine,
    Supply,
    SupplyUse,
)
from decaljobs.services.film.filmuse import is_of
from decaljobs.services.money.rates import rules
from decaljobs.services.refused import Refused

Kind = StockLine.Kind
#: Work on sheets that uses something up.
OF_SHEETS = {"printed": Doing.PRINT, "coat": Doing.COAT}


@transaction.atomic
def buy(
    *,
    supply: Supply,
    amount: Decimal,
    by: Person | None,
    moment: datetime,
    at: datetime | None = None,
    price: Decimal | None = None,
    batch: str = "",
    best_before: date | None = None,
    note: str = "",
) -> StockLine:
    """Keep a purchase; price is for the whole amount, in the currency of that day."""
    return _keep(
        supply,
        Kind.BOUGHT,
        amount,
        by,
        moment,
        at,
        price=price,
        currency=rules().currency if price is not None else "",
        batch=batch,
        best_before=best_before,
        note=note,
    )


@transaction.atomic
def note(
    *,
    supply: Supply,
    kind: str,
    amount: Decimal,
    by: Person | None,
    moment: datetime,
    at: datetime | None = None,
    note: str = "",
) -> StockLine:
    """Keep that some was opened, used, thrown away, or counted."""
    if kind not in (Kind.OPENED, Kind.USED, Kind.THROWN, Kind.COUNTED):
        raise Refused(f"‘{kind}’ is nothing that is noted by hand.")
    return _keep(supply, kind, amount, by, moment, at, note=note)


def _keep(
    supply: Supply,
    kind: str,
    amount: Decimal,
    by: Person | None,
    moment: datetime,
    at: datetime | None,
    **fields: object,
) -> StockLine:
    when = at or moment
    if when > moment:
        raise Refused("That time is still to come.")
    if amount <= 0 and kind not in (Kind.COUNTED, Kind.OPENED):
        raise Refused("The amount must be above 0.")
    return StockLine.objects.create(
        supply=supply, kind=kind, amount=amount, by=by, at=when, logged_at=moment, **fields
    )


@transaction.atomic
def undo_line(*, line: int, by: Person, moment: datetime) -> StockLine:
    """Take back one line, whatever came after it. Raises Refused if it is taken back already."""
    found = StockLine.objects.select_for_update().filter(pk=line).first()
    if found is None or found.kind == Kind.UNDO:
        raise Refused("There is nothing here that could be undone.")
    if StockLine.objects.filter(undoes=found).exists():
        raise Refused("This is undone already.")
    if found.stage_event_id or found.sheet_event_id:
        raise Refused("A step used this up: undo the step, or count what is there.")
    return _undo(found, by, moment)


def _undo(found: StockLine, by: Person | None, moment: datetime) -> StockLine:
    return StockLine.objects.create(
        supply=found.supply, kind=Kind.UNDO, by=by, at=moment, logged_at=moment, undoes=found
    )


def use_for_steps(events: Sequence[StageEvent]) -> None:
    """What steps on decals have used up, by the amounts that are set (two queries or fewer).

    The example workshop takes from its own stores, and own work from the own.
    """
    done = [
        (event, DOING_OF[Stage(event.to_stage)])
        for event in events
        if event.kind == StageEvent.Kind.STEP
        and event.how in (StageEvent.How.HAND, StageEvent.How.EARLY)
        and event.to_stage in DOING_OF
    ]
    if not done:
        return
    uses = _uses({doing for _, doing in done})
    StockLine.objects.bulk_create(
        _used(use, event, stage_event=event)
        for event, doing in done
        for use in uses
        if use.doing == doing.value and use.supply.example == event.decal.project.example
    )


def use_for_sheet(event: SheetEvent, sheet: Sheet) -> None:
    """What a print or a sealing coat has used up; a sealer counts where it is the sheet's."""
    doing = OF_SHEETS.get(event.kind)
    if doing is None:
        return
    StockLine.objects.bulk_create(
        _used(use, event, sheet_event=event)
        for use in _uses({doing})
        if use.supply.sealer in ("", sheet.sealer)
        and use.supply.printer in ("", sheet.printer)
        and use.supply.example == sheet.example
    )


def _uses(doings: Iterable[Doing]) -> list[SupplyUse]:
    wanted = [doing.value for doing in doings]
    found = SupplyUse.objects.filter(doing__in=wanted, supply__gone_at=None)
    return list(found.select_related("supply"))


def _used(use: SupplyUse, event: StageEvent | SheetEvent, **names: object) -> StockLine:
    return StockLine(
        supply=use.supply,
        kind=Kind.USED,
        amount=use.amount,
        by=event.by,
        at=event.at,
        logged_at=event.logged_at,
        **names,
    )


def give_back(
    *, by: Person | None, moment: datetime, stage: int | None = None, sheet: int | None = None
) -> None:
    """What an undone step had used up is there again."""
    lines = StockLine.objects.in_force().select_related("supply")
    mine = lines.filter(stage_event=stage) if stage else lines.filter(sheet_event=sheet)
    for line in mine:
        _undo(line, by, moment)


@transaction.atomic
def open_sheet(*, sheet: Sheet, by: Person | None, moment: datetime) -> StockLine | None:
    """A new sheet is taken from the film of its kind and size, where the stores know one."""
    film = film_for(sheet)
    if film is None:
        return None
    return _keep(film, Kind.USED, Decimal(1), by, moment, None, sheet=sheet)


def film_for(sheet: Sheet) -> Supply | None:
    """The film in the stores that a sheet is one of."""
    return next((film for film in Supply.objects.kept().films() if is_of(sheet, film)), None)
