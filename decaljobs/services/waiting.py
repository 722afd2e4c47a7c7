"""The wait that keeps a decal or a sheet from its next step, and how far it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from decaljobs.craft.climate import Clock
from decaljobs.craft.drying import Progress, WaitTerms, progress
from decaljobs.craft.drying_shares import Share, Span, shares_at
from decaljobs.craft.drying_words import WaitWords, wait_words
from decaljobs.craft.moment_words import cut_tenths
from decaljobs.craft.stages import LAID_LAYER, Layer, Stage
from decaljobs.craft.waits import Leg, WaitKind, leg_spans
from decaljobs.models import Decal, PieceState, Sheet
from decaljobs.services.waits import room_air


@dataclass(frozen=True)
class RunningWait:
    """One wait that runs, on the model or (with `sheet`) on the sheet of the next piece.

    start and ends_at in UTC; ends_at is None when it never ends in this room.
    layer: the layer to be laid, when it is the sheet that dries.
    """

    kind: WaitKind
    terms: WaitTerms
    start: datetime
    ends_at: datetime | None
    sheet: Sheet | None = None
    layer: Layer | None = None

    @property
    def span(self) -> Span:
        """The wait as the craft counts many of them at once."""
        return Span(self.terms, self.start, self.ends_at)

    def progress(self, moment: datetime) -> Progress:
        """How far the wait is at the moment."""
        return progress(self.terms, room_air(), self.start, moment)

    def words(self, moment: datetime) -> str:
        """How far it is, in figures: '7.4 of 12 reference hours'."""
        return self.said(self.progress(moment))

    def said(self, far: Progress | Share) -> str:
        """The same for a progress worked out already."""
        kind = "hours" if self.terms.clock is Clock.FIXED else "reference hours"
        return f"{cut_tenths(min(far.done_hours, far.of_hours))} of {far.of_hours:g} {kind}"

    def told(self, moment: datetime) -> WaitWords:
        """The wait in a sentence with its figures, by the workshop's clock on the wall."""
        zone = timezone.get_current_timezone()
        return wait_words(self.terms, room_air(), self.start, moment, zone)


def wait_of_decal(decal: Decal, moment: datetime) -> RunningWait | None:
    """The wait that holds up a decal's next step, None when none runs.

    Reads the decal's pieces and their sheets, so fetch both beforehand for a list.
    """
    on_model = wait_on_model(decal, moment)
    if decal.ready_at is not None and decal.ready_at <= moment:
        return on_model
    on_sheet = _wait_of_next_piece(decal, moment)
    if on_model is None or on_sheet is None:
        return on_model or on_sheet
    if decal.turns_at and on_sheet.ends_at and on_sheet.ends_at > decal.turns_at:
        return on_sheet
    return on_model


def wait_on_model(decal: Decal, moment: datetime) -> RunningWait | None:
    """The first wait on the model that is not over at the moment."""
    if decal.turns_at is not None and decal.turns_at > moment:
        leg = Leg.from_dict(next(kept for kept in decal.waits if kept["to"] == decal.turns_to))
        return RunningWait(leg.kind, leg.terms, decal.stage_at, decal.turns_at)
    legs = [Leg.from_dict(kept) for kept in decal.waits]
    if not decal.project.overcoat:
        legs = [leg for leg in legs if leg.to != Stage.OVERCOATED]
    spans = leg_spans(legs, room_air(), decal.stage_at)
    for leg in legs:
        begins, end = spans.get(leg.to, (None, None))
        if begins is not None and (end is None or end > moment):
            return RunningWait(leg.kind, leg.terms, begins, end)
    return None


def wait_of_sheet(sheet: Sheet, moment: datetime) -> RunningWait | None:
    """The wait after a sheet's last print or coat, None when it is over or none began."""
    if sheet.wait is None or sheet.worked_at is None or sheet.is_dry(moment):
        return None
    leg = Leg.from_dict(sheet.wait)
    return RunningWait(leg.kind, leg.terms, sheet.worked_at, sheet.rested_at, sheet=sheet)


def sheet_of_next_piece(decal: Decal) -> Sheet | None:
    """The sheet that the next step takes its piece from: sealed, the longest dry first."""
    layer = next_layer(decal)
    if layer is None:
        return None
    sheets = [
        piece.sheet
        for piece in decal.pieces.all()
        if piece.layer == layer and piece.state == PieceState.GOOD and piece.sheet.is_sealed
    ]
    dated = [sheet for sheet in sheets if sheet.rested_at is not None]
    return min(
        dated, key=lambda sheet: (sheet.rested_at, sheet.pk), default=next(iter(sheets), None)
    )


def next_layer(decal: Decal) -> Layer | None:
    """The layer that the decal's next step lays, None when it lays none."""
    return LAID_LAYER.get(Stage(decal.next_step)) if decal.next_step else None


def _wait_of_next_piece(decal: Decal, moment: datetime) -> RunningWait | None:
    sheet = sheet_of_next_piece(decal)
    wait = wait_of_sheet(sheet, moment) if sheet else None
    if wait is None:
        return None
    return RunningWait(
        wait.kind, wait.terms, wait.start, wait.ends_at, sheet=sheet, layer=next_layer(decal)
    )


def shares_of(waits: Mapping[int, RunningWait | None], moment: datetime) -> dict[int, Share]:
    """How far each of many running waits is at the moment, by the same keys."""
    running = {key: wait for key, wait in waits.items() if wait is not None}
    shares = shares_at([wait.span for wait in running.values()], room_air(), moment)
    return dict(zip(running, shares, strict=True))
