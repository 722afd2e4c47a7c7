"""The wait that a decal or sheet is in at a moment, as the drying clock counts it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from decaljobs.craft.drying import Air, Progress, WaitTerms, progress
from decaljobs.craft.stages import LAID_LAYER, Stage
from decaljobs.craft.waits import Leg, WaitKind, leg_spans
from decaljobs.models import Decal, PieceState, Sheet
from decaljobs.services.waits import room_air


@dataclass(frozen=True)
class RunningWait:
    """A wait that runs: its kind and terms, when it began and ends (UTC), how far it is.

    sheet: the sheet that dries, None when the wait is on the model.
    """

    kind: WaitKind
    terms: WaitTerms
    start: datetime
    ready_at: datetime | None
    progress: Progress
    sheet: Sheet | None = None

    @property
    def words(self) -> str:
        """How far it is: '7.4 of 12 reference hours'."""
        return f"{self.progress.done_hours:.1f} of {self.progress.of_hours:g} reference hours"


def wait_of_decal(decal: Decal, moment: datetime, air: Air | None = None) -> RunningWait | None:
    """The wait that keeps a decal from its next step at the moment, if any.

    Reads the decal's pieces and their sheets, which lists fetch beforehand.
    """
    air = air or room_air()
    legs = [Leg.from_dict(kept) for kept in decal.waits]
    spans = leg_spans(legs, air, decal.stage_at)
    for leg in legs:
        start, end = spans.get(leg.to, (None, None))
        if leg.to == "masked" or start is None or start > moment:
            continue
        if end is None or end > moment:
            return _running(leg, air, start, end, moment)
    return _wait_of_its_sheet(decal, moment, air)


def wait_of_sheet(sheet: Sheet, moment: datetime, air: Air | None = None) -> RunningWait | None:
    """The wait after a sheet's last print or coat, if it still runs at the moment."""
    if sheet.wait is None or sheet.worked_at is None or sheet.is_dry(moment):
        return None
    leg = Leg.from_dict(sheet.wait)
    return _running(leg, air or room_air(), sheet.worked_at, sheet.rested_at, moment, sheet)


def _wait_of_its_sheet(decal: Decal, moment: datetime, air: Air) -> RunningWait | None:
    layer = LAID_LAYER.get(Stage(decal.next_step)) if decal.next_step else None
    sheets = [
        piece.sheet
        for piece in decal.pieces.all()
        if piece.layer == layer and piece.state == PieceState.GOOD and piece.sheet.is_sealed
    ]
    if not sheets or any(sheet.is_dry(moment) for sheet in sheets):
        return None
    soonest = min(sheets, key=lambda sheet: (sheet.rested_at is None, sheet.rested_at))
    return wait_of_sheet(soonest, moment, air)


def _running(
    leg: Leg,
    air: Air,
    start: datetime,
    end: datetime | None,
    moment: datetime,
    sheet: Sheet | None = None,
) -> RunningWait:
    how_far = progress(leg.terms, air, start, max(start, moment))
    return RunningWait(leg.kind, leg.terms, start, end, how_far, sheet)
