"""The kinds of wait between two steps, and which one a step begins."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from decaljobs.craft.drying import Air, WaitTerms, ready_at
from decaljobs.craft.stages import Build, Stage


class WaitKind(StrEnum):
    """A wait the trade knows. The figures of each are rules that the owner can change."""

    PRINTED_INKJET = "printed_inkjet"
    PRINTED_LASER = "printed_laser"
    COAT_WATER = "coat_water"
    COAT_SOLVENT = "coat_solvent"
    LAST_COAT_INKJET_WATER = "last_coat_inkjet_water"
    LAST_COAT_INKJET_SOLVENT = "last_coat_inkjet_solvent"
    LAST_COAT_LASER_WATER = "last_coat_laser_water"
    LAST_COAT_LASER_SOLVENT = "last_coat_laser_solvent"
    BASE_CURED = "base_cured"
    LAYER_SET = "layer_set"
    SET_OVERCOAT = "set_overcoat"
    OVERCOAT_HANDLED = "overcoat_handled"
    OVERCOAT_MASKED = "overcoat_masked"

    @property
    def words(self) -> str:
        return _WORDS[self]


_WORDS = {
    WaitKind.PRINTED_INKJET: "printed (inkjet) → first sealing coat",
    WaitKind.PRINTED_LASER: "printed (laser) → sealing coat",
    WaitKind.COAT_WATER: "coat → next coat (water-borne)",
    WaitKind.COAT_SOLVENT: "coat → next coat (solvent-borne)",
    WaitKind.LAST_COAT_INKJET_WATER: "last coat → cutting (inkjet, water-borne)",
    WaitKind.LAST_COAT_INKJET_SOLVENT: "last coat → cutting (inkjet, solvent-borne)",
    WaitKind.LAST_COAT_LASER_WATER: "last coat → cutting (laser, water-borne)",
    WaitKind.LAST_COAT_LASER_SOLVENT: "last coat → cutting (laser, solvent-borne)",
    WaitKind.BASE_CURED: "base applied → cured, ready for the clear layer",
    WaitKind.LAYER_SET: "last layer applied → set",
    WaitKind.SET_OVERCOAT: "set → overcoat",
    WaitKind.OVERCOAT_HANDLED: "overcoat → may be handled",
    WaitKind.OVERCOAT_MASKED: "overcoat → may be masked",
}


def after_printing(printer: str) -> WaitKind:
    """The wait between printing and the first sealing coat.

    >>> after_printing("laser")
    <WaitKind.PRINTED_LASER: 'printed_laser'>
    """
    return WaitKind(f"printed_{printer}")


def after_coat(printer: str, sealer: str, *, last: bool) -> WaitKind:
    """The wait after a sealing coat: to the next coat, or after the last one to cutting.

    >>> after_coat("inkjet", "water", last=True)
    <WaitKind.LAST_COAT_INKJET_WATER: 'last_coat_inkjet_water'>
    """
    return WaitKind(f"last_coat_{printer}_{sealer}" if last else f"coat_{sealer}")


def after_step(build: Build, stage: Stage, *, overcoat: bool) -> tuple[tuple[str, WaitKind], ...]:
    """The waits that begin when a decal reaches a stage, each with what it leads to.

    They run one after the other, except the two after an overcoat, which both
    begin with it.

    >>> after_step(Build.LAMINATED, Stage.BASE_APPLIED, overcoat=True)
    (('cured', <WaitKind.BASE_CURED: 'base_cured'>),)
    """
    overcoating = (("overcoated", WaitKind.SET_OVERCOAT),) if overcoat else ()
    if stage is Stage.BASE_APPLIED and build is Build.LAMINATED:
        return (("cured", WaitKind.BASE_CURED),)
    if stage in (Stage.BASE_APPLIED, Stage.CLEAR_APPLIED):
        return (("set", WaitKind.LAYER_SET), *overcoating)
    if stage is Stage.SET:
        return overcoating
    if stage is Stage.OVERCOATED:
        return (("handled", WaitKind.OVERCOAT_HANDLED), ("masked", WaitKind.OVERCOAT_MASKED))
    return ()


@dataclass(frozen=True)
class Leg:
    """One wait that runs: what it leads to, its kind, and the terms it began under."""

    to: str
    kind: WaitKind
    terms: WaitTerms

    def to_dict(self) -> dict[str, Any]:
        """The leg as plain values, for an event to keep."""
        return {"to": self.to, "kind": self.kind.value, "terms": self.terms.to_dict()}

    @classmethod
    def from_dict(cls, kept: Mapping[str, Any]) -> Leg:
        """The leg an event has kept."""
        terms = WaitTerms.from_dict(kept["terms"])
        return cls(to=kept["to"], kind=WaitKind(kept["kind"]), terms=terms)


def leg_spans(
    legs: Iterable[Leg], air: Air, start: datetime
) -> dict[str, tuple[datetime, datetime | None]]:
    """When each leg begins and ends in this air, in UTC, by what it leads to.

    Legs run one after the other; the wait until an overcoat may be masked runs
    beside the one until it may be handled. A leg that never ends has None, and
    those behind it never begin, so they are left out.

    >>> from datetime import UTC
    >>> from decaljobs.craft.climate import Clock
    >>> from decaljobs.craft.drying import STANDARD_AIR
    >>> terms = WaitTerms(reference_hours=12, floor_hours=8, clock=Clock.WATER_UNDER_FILM)
    >>> start = datetime(2026, 11, 2, 19, tzinfo=UTC)
    >>> spans = leg_spans([Leg("cured", WaitKind.BASE_CURED, terms)], STANDARD_AIR, start)
    >>> spans["cured"][1].isoformat()
    '2026-11-03T07:00:00+00:00'
    """
    spans: dict[str, tuple[datetime, datetime | None]] = {}
    begins: datetime | None = start
    for leg in legs:
        if leg.to == "masked":
            begins = start
        if begins is None:
            break
        end = ready_at(leg.terms, air, begins)
        spans[leg.to] = (begins, end)
        begins = end
    return spans
