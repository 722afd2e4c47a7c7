"""What a changed wait rule means for the waits that run, and changing it with or without them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Q

from decaljobs.craft.stages import Stage
from decaljobs.craft.waits import Chain, Leg, WaitKind, leg_spans_many
from decaljobs.models import Decal, Person, Sheet, SheetEvent, WaitRule
from decaljobs.services.bench import logbook
from decaljobs.services.bench.logbook import Kind
from decaljobs.services.bench.outlooks import chain_of, refresh
from decaljobs.services.drying.air import Airs
from decaljobs.services.film.sheetlog import (
    append_sheet_event,
    decals_on,
    lock_sheet,
    settle_sheets,
    sheet_chain,
)

#: The wait until an overcoat may be masked is stored nowhere: looked for among these.
LONGEST_MASKING = timedelta(days=60)


@dataclass(frozen=True)
class Effect:
    """One running wait under a changed rule: what it is on, and its end (UTC) before and after.

    None for an end that never comes in this room.
    """

    thing: Decal | Sheet
    old: datetime | None
    new: datetime | None

    @property
    def words(self) -> str:
        if isinstance(self.thing, Sheet):
            return f"Sheet {self.thing.code}"
        return f"{self.thing.project.code} {self.thing.words}"

    @property
    def is_changed(self) -> bool:
        return self.old != self.new

    @property
    def hours_later(self) -> float | None:
        """By how many hours it moves; None where one of the two ends never comes."""
        if self.old is None or self.new is None:
            return None
        return (self.new - self.old) / timedelta(hours=1)


def effects(*, rule: WaitRule, moment: datetime) -> list[Effect]:
    """The running waits of a rule as they would end under its new, unsaved figures."""
    airs = Airs()
    things: list[tuple[Decal | Sheet, Chain]] = []
    things += [(decal, chain_of(decal, airs)) for decal in _running_decals(rule, moment)]
    things += [(sheet, sheet_chain(sheet, airs)) for sheet in _running_sheets(rule, moment)]
    chains = [chain for _, chain in things]
    before = leg_spans_many(chains)
    after = leg_spans_many([_under(chain, rule) for chain in chains])
    found = []
    for (thing, chain), old, new in zip(things, before, after, strict=True):
        leg = next((leg for leg in chain.legs if leg.kind == rule.kind), None)
        if leg is not None and not _is_over(old.get(leg.to), moment):
            ends = [spans.get(leg.to, (None, None))[1] for spans in (old, new)]
            found.append(Effect(thing, *ends))
    return found


@transaction.atomic
def change_rule(*, rule: WaitRule, follow: bool, by: Person | None, moment: datetime) -> int:
    """Keep a rule's new figures; running waits follow only if told. Answers how many did."""
    rule.full_clean()
    following = [e.thing for e in effects(rule=rule, moment=moment)] if follow else []
    rule.save()
    airs = Airs()
    # Sheets before decals, as whoever works on a sheet locks them.
    sheets = [
        lock_sheet(pk) for pk in sorted(thing.pk for thing in following if isinstance(thing, Sheet))
    ]
    mine = {thing.pk for thing in following if isinstance(thing, Decal)}
    on_sheets = Decal.objects.filter(pieces__sheet__in=sheets).values_list("pk", flat=True)
    decals = [decal for decal in logbook.lock({*mine, *on_sheets}) if decal.pk in mine]
    for decal in decals:
        legs = [_leg_under(Leg.from_dict(kept), rule) for kept in decal.waits]
        logbook.append(
            decal,
            kind=Kind.RULE,
            to_stage=Stage(decal.stage),
            at=moment,
            moment=moment,
            by=by,
            legs=legs,
        )
    refresh(decals, airs)
    for sheet in sheets:
        _let_follow(sheet, rule, by, moment, airs)
    return len(following)


def _let_follow(
    sheet: Sheet, rule: WaitRule, by: Person | None, moment: datetime, airs: Airs
) -> None:
    if sheet.wait is None:
        return
    sheet.wait = _leg_under(Leg.from_dict(sheet.wait), rule).to_dict()
    settle_sheets([sheet], airs)
    append_sheet_event(sheet, kind=SheetEvent.Kind.RULE, moment=moment, by=by, wait=sheet.wait)
    sheet.save()
    refresh(decals_on(sheet), airs)


def _running_decals(rule: WaitRule, moment: datetime) -> Iterable[Decal]:
    running = Q(ready_at=None) | Q(ready_at__gt=moment) | Q(turns_at__gt=moment)
    if rule.kind == WaitKind.OVERCOAT_MASKED:
        running |= Q(stage=Stage.OVERCOATED, stage_at__gt=moment - LONGEST_MASKING)
    decals = Decal.objects.filter(running).exclude(waits=[]).select_related("project")
    return [d for d in decals if any(kept["kind"] == rule.kind for kept in d.waits)]


def _running_sheets(rule: WaitRule, moment: datetime) -> Iterable[Sheet]:
    running = Q(rested_at=None) | Q(rested_at__gt=moment)
    return Sheet.objects.filter(running, wait__kind=rule.kind)


def _under(chain: Chain, rule: WaitRule) -> Chain:
    return replace(chain, legs=[_leg_under(leg, rule) for leg in chain.legs])


def _leg_under(leg: Leg, rule: WaitRule) -> Leg:
    return replace(leg, terms=rule.terms) if leg.kind == rule.kind else leg


def _is_over(span: tuple[datetime, datetime | None] | None, moment: datetime) -> bool:
    return span is not None and span[1] is not None and span[1] <= moment
