"""Sheets locked for a change, their logs written to, and their waits worked out."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any, NamedTuple

from decaljobs.craft.outlook import GoodPiece, reached_on_sheets
from decaljobs.craft.stages import Build, Stage
from decaljobs.craft.waits import Chain, Leg, leg_spans_many
from decaljobs.models import Decal, Person, Sheet, SheetEvent
from decaljobs.services.bench import logbook
from decaljobs.services.bench.event_figures import wait_figures
from decaljobs.services.bench.logbook import How, Kind
from decaljobs.services.drying.air import Airs
from decaljobs.services.locking import lock_record
from decaljobs.services.refused import Refused, moved_on

#: What is done to a sheet by hand; the other lines only tell of its drying.
WORK = (SheetEvent.Kind.PRINTED, SheetEvent.Kind.COAT)
#: The stages that work on a sheet leads to.
ON_SHEETS = [Stage.PLANNED, Stage.PRINTED, Stage.SEALED]


class Lent(NamedTuple):
    """When a piece was lent, when that was written down, by whom, and from which decal."""

    at: datetime
    moment: datetime
    by: Person | None
    twin: Decal | None


def lock_sheet(pk: int, *, seen: int | None = None) -> Sheet:
    """The sheet for a change; refused when it has moved on since the maker's page was drawn."""
    sheet = lock_record(Sheet.objects.all(), pk, "sheet")
    if seen is not None and seen != sheet.events_logged:
        last = sheet.events.select_related("by").order_by("-number").first()
        what = f"‘{last.words}’ was logged" if last else "it has changed"
        who = f" by {last.by}" if last and last.by else ""
        raise moved_on(f"Sheet {sheet.code}", f"{what}{who}")
    return sheet


def refuse_lost(sheet: Sheet) -> None:
    """Refuse to work on a sheet that is logged as lost."""
    if sheet.is_lost:
        raise Refused(f"Sheet {sheet.code} is logged as lost: undo that if it was found again.")


def decals_on(sheet: Sheet) -> list[Decal]:
    """The decals with a piece on the sheet, locked for a change."""
    return logbook.lock(sheet.pieces.values_list("decal_id", flat=True))


def append_sheet_event(
    sheet: Sheet,
    *,
    kind: str,
    moment: datetime,
    by: Person | None,
    at: datetime | None = None,
    coat: int | None = None,
    **fields: Any,
) -> SheetEvent:
    """Write one line to a sheet's log; the sheet is not yet saved.

    at: when it was done, the moment if None. coat: the last one that is on if None.
    """
    sheet.events_logged += 1
    return SheetEvent.objects.create(
        sheet=sheet,
        number=sheet.events_logged,
        kind=kind,
        at=at or moment,
        logged_at=moment,
        by=by,
        coat=sheet.coats_done if coat is None else coat,
        **fields,
    )


def settle_sheets(sheets: Sequence[Sheet], airs: Airs) -> None:
    """Work out (not yet saved) when the waits after the last print or coat are over."""
    waiting = [sheet for sheet in sheets if sheet.wait is not None]
    chains = [sheet_chain(sheet, airs) for sheet in waiting]
    for sheet, spans in zip(waiting, leg_spans_many(chains), strict=True):
        ((_, sheet.rested_at),) = spans.values()


def sheet_chain(sheet: Sheet, airs: Airs) -> Chain:
    """The wait of a sheet in the air that it runs in."""
    if sheet.wait is None or sheet.worked_at is None:
        raise ValueError(f"nothing dries on sheet {sheet.code}")
    return Chain([Leg.from_dict(sheet.wait)], airs.of_sheet(sheet), sheet.worked_at)


def sheet_figures(sheet: Sheet, at: datetime, airs: Airs) -> dict[str, Any]:
    """The room's air at a time, and how far the wait of the sheet was then."""
    if sheet.wait is None:
        return airs.figures(sheet.stays or [[at.isoformat(), sheet.room_id]], at)
    chain = sheet_chain(sheet, airs)
    return wait_figures(chain.legs[0], airs, sheet.stays, chain.air, chain.start, at)


def carry_along(
    decal: Decal,
    pieces: Sequence[GoodPiece],
    event: SheetEvent,
    airs: Airs,
    *,
    lent: Lent | None = None,
) -> None:
    """Log on a decal (not yet saved) how far its sheets alone have brought it.

    event: the work on a sheet that did it. lent: the lending of a piece there that did it, if so.
    """
    if decal.stage not in ON_SHEETS:
        return
    done, moment, by, twin = lent or Lent(event.at, event.logged_at, event.by, None)
    reached = reached_on_sheets(Build(decal.build), pieces)
    for stage in ON_SHEETS[ON_SHEETS.index(Stage(decal.stage)) + 1 : ON_SHEETS.index(reached) + 1]:
        # The other film may have been printed later than this one, though logged first.
        at = done if decal.stage == Stage.PLANNED else max(done, decal.stage_at)
        logbook.append(
            decal,
            kind=Kind.STEP,
            how=How.SHEET,
            to_stage=stage,
            at=at,
            moment=moment,
            by=by,
            sheet_event=event,
            twin=twin,
            room=airs.room(decal.room_id).pk,
        )
