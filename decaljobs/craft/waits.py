"""The kinds of wait between two steps, and which one a step begins."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from decaljobs.craft.drying import WaitTerms, ready_at_many
from decaljobs.craft.room.air import Air
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
        """From what to what it runs, as the rules page says it."""
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

    printer: 'inkjet' or 'laser'; ValueError for any other.

    >>> after_printing("laser")
    <WaitKind.PRINTED_LASER: 'printed_laser'>
    """
    return WaitKind(f"printed_{printer}")


def after_coat(printer: str, sealer: str, *, last: bool) -> WaitKind:
    """The wait after a sealing coat: to the next coat, or after the last one to cutting.

    printer: 'inkjet' or 'laser'; sealer: 'water' or 'solvent'. ValueError for any other.

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
    """One wait that runs: what it leads to, its kind, and the terms it began under.

    extra_hours: reference hours that touch tests have added, 0 to 20,000.
    """

    to: str
    kind: WaitKind
    terms: WaitTerms
    extra_hours: float = 0.0

    def to_dict(self) -> dict[str, Any]:
        """The leg as plain values, for an event to keep."""
        kept = {"to": self.to, "kind": self.kind.value, "terms": self.terms.to_dict()}
        return kept | ({"extra_hours": self.extra_hours} if self.extra_hours else {})

    @classmethod
    def from_dict(cls, kept: Mapping[str, Any]) -> Leg:
        """The leg an event has kept."""
        terms = WaitTerms.from_dict(kept["terms"])
        extra = float(kept.get("extra_hours", 0.0))
        return cls(to=kept["to"], kind=WaitKind(kept["kind"]), terms=terms, extra_hours=extra)


#: When legs begin and end, in UTC, by what they lead to; a leg that never ends has None.
Spans = dict[str, tuple[datetime, datetime | None]]


@dataclass(frozen=True)
class Chain:
    """The legs that began together at `start` (aware), and the air they run in."""

    legs: Sequence[Leg]
    air: Air
    start: datetime


def leg_spans(legs: Iterable[Leg], air: Air, start: datetime) -> Spans:
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
    return leg_spans_many([Chain(tuple(legs), air, start)])[0]


def leg_spans_many(chains: Sequence[Chain]) -> list[Spans]:
    """The spans of each chain as `leg_spans` tells them; each air and terms is asked once a place.

    >>> from datetime import UTC, timedelta
    >>> from decaljobs.craft.climate import Clock
    >>> from decaljobs.craft.drying import STANDARD_AIR
    >>> setting = Leg("set", WaitKind.LAYER_SET, WaitTerms(12, 8, Clock.WATER))
    >>> coat = Leg("overcoated", WaitKind.SET_OVERCOAT, WaitTerms(24, 12, Clock.WATER))
    >>> start = datetime(2026, 11, 2, 19, tzinfo=UTC)
    >>> legs = ((setting, coat), (coat,))
    >>> both = leg_spans_many([Chain(one, STANDARD_AIR, start) for one in legs])
    >>> [(spans["overcoated"][1] - start) / timedelta(hours=1) for spans in both]
    [36.0, 24.0]
    """
    spans: list[Spans] = [{} for _ in chains]
    begins: list[datetime | None] = [chain.start for chain in chains]
    for place in range(max((len(chain.legs) for chain in chains), default=0)):
        running: list[tuple[int, Leg, datetime]] = []
        for number, chain in enumerate(chains):
            leg = chain.legs[place] if place < len(chain.legs) else None
            start = chain.start if leg and leg.to == "masked" else begins[number]
            if leg is not None and start is not None:
                running.append((number, leg, start))
        ends = _ends([(leg, chains[number].air, start) for number, leg, start in running])
        for (number, leg, start), end in zip(running, ends, strict=True):
            spans[number][leg.to] = (start, end)
            begins[number] = end
    return spans


def _ends(running: Sequence[tuple[Leg, Air, datetime]]) -> list[datetime | None]:
    """The ends of legs, those of one air and one set of terms worked out together."""
    groups: dict[tuple[WaitTerms, int], list[int]] = {}
    for number, (leg, air, _) in enumerate(running):
        groups.setdefault((leg.terms, id(air)), []).append(number)
    ends: list[datetime | None] = [None] * len(running)
    for (terms, _), numbers in groups.items():
        found = ready_at_many(
            terms,
            running[numbers[0]][1],
            [running[n][2] for n in numbers],
            extra_reference_hours=[running[n][0].extra_hours for n in numbers],
        )
        for number, end in zip(numbers, found, strict=True):
            ends[number] = end
    return ends
