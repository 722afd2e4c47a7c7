"""Touch tests: what the maker's finger says of a wait, and what it teaches about its rule."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from typing import Any

from django.db import transaction

from decaljobs.craft.drying import WaitTerms
from decaljobs.craft.stages import DRIED_STAGES, Stage
from decaljobs.craft.waiting.touch_tests import Proposal, TouchTest, added_hours, propose
from decaljobs.craft.waits import Leg
from decaljobs.models import Decal, Person, SheetEvent, StageEvent, WaitRule
from decaljobs.services.bench import logbook
from decaljobs.services.bench.event_figures import leg_at, wait_figures
from decaljobs.services.bench.logbook import How, Kind
from decaljobs.services.bench.outlooks import refresh
from decaljobs.services.bench.taking_back import take_back
from decaljobs.services.drying.air import Airs
from decaljobs.services.film.sheetlog import (
    append_sheet_event,
    decals_on,
    lock_sheet,
    refuse_lost,
    settle_sheets,
    sheet_figures,
)
from decaljobs.services.refused import Refused


@transaction.atomic
def log_not_yet(
    *,
    decal: int,
    by: Person,
    moment: datetime,
    at: datetime | None = None,
    seen: int | None = None,
) -> StageEvent:
    """Not dry to the touch: a quarter of the reference hours is added. Raises Refused."""
    (locked,) = logbook.lock([decal])
    logbook.check_seen(locked, seen, now=moment)
    _take_back_the_clock(locked, by, moment)
    when = at or moment
    what = Stage(locked.stage).words
    logbook.check_time(when, moment=moment, after=locked.stage_at, what=what)
    airs = Airs()
    found = leg_at(locked, when, airs)
    if found is None:
        raise Refused(f"Nothing dries on {locked.words}.")
    leg, begins, _ = found
    air = wait_figures(leg, airs, locked.stays, airs.of_decal(locked), begins, when)
    earlier = _not_yet_hours(locked.events.in_force(), leg, begins)
    longer = _longer(leg, [*earlier, air["done_hours"]])
    event = logbook.append(
        locked,
        kind=Kind.NOT_YET,
        to_stage=Stage(locked.stage),
        at=when,
        moment=moment,
        by=by,
        how=How.TOUCH,
        legs=[longer if kept.to == leg.to else kept for kept in _legs(locked)],
        air=air,
    )
    refresh([locked], airs)
    return event


@transaction.atomic
def log_sheet_touch(
    *,
    sheet: int,
    dry: bool,
    by: Person,
    moment: datetime,
    at: datetime | None = None,
    seen: int | None = None,
) -> SheetEvent:
    """What the finger says of a sheet: dry ends its wait, not yet adds to it. Raises Refused."""
    found = lock_sheet(sheet, seen=seen)
    refuse_lost(found)
    when = at or moment
    if found.wait is None:
        raise Refused(f"Nothing dries on sheet {found.code}.")
    logbook.check_time(when, moment=moment, after=found.worked_at, what="the last work on it")
    airs = Airs()
    air = sheet_figures(found, when, airs)
    kind = SheetEvent.Kind.DRY if dry else SheetEvent.Kind.NOT_YET
    if dry:
        found.wait, found.rested_at = None, when
    else:
        leg = Leg.from_dict(found.wait)
        begins = found.worked_at or found.made_at
        earlier = _not_yet_hours(found.events.in_force(), leg, begins)
        found.wait = _longer(leg, [*earlier, air["done_hours"]]).to_dict()
        settle_sheets([found], airs)
    event = append_sheet_event(
        found, kind=kind, at=when, moment=moment, by=by, wait=found.wait, air=air
    )
    found.save()
    refresh(decals_on(found), airs)
    return event


def proposal_for(rule: WaitRule) -> Proposal | None:
    """A better reference figure for a rule, from the touch tests made under its clock."""
    return propose(rule.reference_hours, list(tests_of(rule).values()))


def tests_of(rule: WaitRule) -> dict[Any, list[TouchTest]]:
    """The touch tests of a rule's wait, in order of time for each layer (two queries)."""
    layers: dict[Any, list[TouchTest]] = {}
    on_decals = StageEvent.objects.in_force().filter(how=How.TOUCH, air__wait=rule.kind)
    for event in on_decals.order_by("decal", "at"):
        _keep_test(layers, ("decal", event.decal_id), event, event.kind != Kind.NOT_YET, rule)
    kinds = [SheetEvent.Kind.DRY, SheetEvent.Kind.NOT_YET]
    on_sheets = SheetEvent.objects.in_force().filter(kind__in=kinds, air__wait=rule.kind)
    for event in on_sheets.order_by("sheet", "at"):
        dry = event.kind == SheetEvent.Kind.DRY
        _keep_test(layers, ("sheet", event.sheet_id), event, dry, rule)
    return layers


def _keep_test(
    layers: dict[Any, list[TouchTest]], thing: Any, event: Any, dry: bool, rule: WaitRule
) -> None:
    """Hours counted by another clock or reference cannot be compared, so they are left out."""
    if WaitTerms.from_dict(event.air["terms"]).clock_key == rule.terms.clock_key:
        layer = (thing, event.air["since"])
        layers.setdefault(layer, []).append(TouchTest(event.air["done_hours"], dry))


def _take_back_the_clock(decal: Decal, by: Person, moment: datetime) -> None:
    """The finger has the last word: drying that the clock alone wrote down did not happen."""
    last = logbook.last_in_force(decal)
    if last is not None and last.how == How.CLOCK and last.to_stage in DRIED_STAGES:
        take_back(decal, last, by=by, moment=moment)


def _legs(decal: Decal) -> list[Leg]:
    return [Leg.from_dict(kept) for kept in decal.waits]


def _not_yet_hours(events: Any, leg: Leg, begins: datetime) -> Iterable[float]:
    """Reference hours done at each earlier 'not yet' of the same wait."""
    tests = events.filter(kind="not_yet", air__wait=leg.kind.value, air__since=begins.isoformat())
    return [event.air["done_hours"] for event in tests.order_by("number")]


def _longer(leg: Leg, done: list[float]) -> Leg:
    return replace(leg, extra_hours=added_hours(leg.terms, done))
