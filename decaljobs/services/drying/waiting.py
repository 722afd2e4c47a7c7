"""The wait that keeps a decal or a sheet from its next step, and how far it is."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

from django.utils import timezone

from decaljobs.craft.climate import Clock
from decaljobs.craft.drying import Progress, WaitTerms, progress
from decaljobs.craft.figures import cut_tenths
from decaljobs.craft.room.air import Air
from decaljobs.craft.stages import LAID_LAYER, Layer, Stage
from decaljobs.craft.waiting.forecast import Forecast, forecast_many
from decaljobs.craft.waiting.shares import Share, Span, shares_at
from decaljobs.craft.waiting.words import WaitWords, wait_words
from decaljobs.craft.waits import Leg, WaitKind, leg_spans
from decaljobs.models import Decal, Sheet
from decaljobs.services.bench.outlooks import running_legs
from decaljobs.services.drying.air import Airs
from decaljobs.shown import ways


@dataclass(frozen=True)
class RunningWait:
    """One wait that runs, on the model or (with `sheet`) on the sheet of the next piece.

    start and ends_at in UTC; ends_at is None when it never ends in this room.
    air: what it dries in. extra_hours: reference hours added by touch tests.
    layer: the layer to be laid, when it is the sheet that dries.
    """

    kind: WaitKind
    terms: WaitTerms
    start: datetime
    ends_at: datetime | None
    air: Air = field(compare=False, repr=False)
    extra_hours: float = 0.0
    sheet: Sheet | None = None
    layer: Layer | None = None

    @property
    def span(self) -> Span:
        """The wait as the craft counts many of them at once."""
        return Span(self.terms, self.start, self.ends_at, self.extra_hours)

    def progress(self, moment: datetime) -> Progress:
        """How far the wait is at the moment."""
        return progress(
            self.terms, self.air, self.start, moment, extra_reference_hours=self.extra_hours
        )

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
        return wait_words(
            self.terms,
            self.air,
            self.start,
            moment,
            zone,
            extra_reference_hours=self.extra_hours,
            ways=ways(),
        )


def wait_of_decal(decal: Decal, moment: datetime, airs: Airs) -> RunningWait | None:
    """The wait that holds up a decal's next step, None when none runs.

    Reads the decal's pieces and their sheets, so fetch both beforehand for a list.
    """
    on_model = wait_on_model(decal, moment, airs)
    if decal.ready_at is not None and decal.ready_at <= moment:
        return on_model
    on_sheet = _wait_of_next_piece(decal, moment, airs)
    if on_model is None or on_sheet is None:
        return on_model or on_sheet
    if decal.turns_at and on_sheet.ends_at and on_sheet.ends_at > decal.turns_at:
        return on_sheet
    return on_model


def wait_on_model(decal: Decal, moment: datetime, airs: Airs) -> RunningWait | None:
    """The first wait on the model that is not over at the moment."""
    if not decal.waits:
        return None
    air = airs.of_decal(decal)
    if decal.turns_at is not None and decal.turns_at > moment:
        leg = Leg.from_dict(next(kept for kept in decal.waits if kept["to"] == decal.turns_to))
        return _running(leg, (decal.stage_at, decal.turns_at), air)
    legs = running_legs(decal)
    spans = leg_spans(legs, air, decal.stage_at)
    for leg in legs:
        span = spans.get(leg.to)
        if span is not None and (span[1] is None or span[1] > moment):
            return _running(leg, span, air)
    return None


def wait_of_sheet(sheet: Sheet, moment: datetime, airs: Airs) -> RunningWait | None:
    """The wait after a sheet's last print or coat, None when it is over or none began."""
    if sheet.wait is None or sheet.worked_at is None or sheet.is_dry(moment):
        return None
    leg = Leg.from_dict(sheet.wait)
    found = _running(leg, (sheet.worked_at, sheet.rested_at), airs.of_sheet(sheet))
    return replace(found, sheet=sheet)


def _running(leg: Leg, span: tuple[datetime, datetime | None], air: Air) -> RunningWait:
    return RunningWait(leg.kind, leg.terms, *span, air=air, extra_hours=leg.extra_hours)


def sheet_of_next_piece(decal: Decal) -> Sheet | None:
    """The sheet that the next step takes its piece from: sealed, the longest dry first."""
    layer = next_layer(decal)
    if layer is None:
        return None
    sheets = [
        piece.sheet
        for piece in decal.pieces.all()
        if piece.layer == layer and piece.is_at_hand and piece.sheet.is_sealed
    ]
    dated = [sheet for sheet in sheets if sheet.rested_at is not None]
    return min(
        dated, key=lambda sheet: (sheet.rested_at, sheet.pk), default=next(iter(sheets), None)
    )


def next_layer(decal: Decal) -> Layer | None:
    """The layer that the decal's next step lays, None when it lays none."""
    return LAID_LAYER.get(Stage(decal.next_step)) if decal.next_step else None


def _wait_of_next_piece(decal: Decal, moment: datetime, airs: Airs) -> RunningWait | None:
    sheet = sheet_of_next_piece(decal)
    wait = wait_of_sheet(sheet, moment, airs) if sheet else None
    return replace(wait, layer=next_layer(decal)) if wait else None


def shares_of(waits: Mapping[int, RunningWait | None], moment: datetime) -> dict[int, Share]:
    """How far each of many running waits is at the moment, by the same keys."""
    shares: dict[int, Share] = {}
    for keys, running in _by(waits, lambda wait: id(wait.air)):
        found = shares_at([wait.span for wait in running], running[0].air, moment)
        shares.update(zip(keys, found, strict=True))
    return shares


def forecasts_of(waits: Mapping[int, RunningWait | None]) -> dict[int, Forecast]:
    """When each of many running waits is likely over, with its range, by the same keys."""
    seen: dict[int, Forecast] = {}
    for keys, running in _by(waits, lambda wait: (wait.terms, id(wait.air))):
        found = forecast_many(
            running[0].terms,
            running[0].air,
            [wait.start for wait in running],
            extra_reference_hours=[wait.extra_hours for wait in running],
        )
        seen.update(zip(keys, found, strict=True))
    return seen


def _by(
    waits: Mapping[int, RunningWait | None], alike: Callable[[RunningWait], Hashable]
) -> Iterable[tuple[list[int], list[RunningWait]]]:
    """The waits that run, gathered by what they have in common, with their keys."""
    groups: dict[Hashable, tuple[list[int], list[RunningWait]]] = {}
    for key, wait in waits.items():
        if wait is not None:
            keys, running = groups.setdefault(alike(wait), ([], []))
            keys.append(key)
            running.append(wait)
    return groups.values()
