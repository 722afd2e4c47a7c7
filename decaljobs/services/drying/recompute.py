"""Stored ready times, worked out anew when a reading, a room or a rule has changed."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Q

from decaljobs.models import Decal, Sheet
from decaljobs.services.bench.outlooks import AHEAD_FIELDS, look_ahead
from decaljobs.services.drying.air import Airs
from decaljobs.services.film.sheetlog import settle_sheets
from decaljobs.services.saving import save_columns


@transaction.atomic
def recompute(*, since: datetime, rooms: Collection[int], airs: Airs | None = None) -> int:
    """Work out anew every wait in these rooms that was not over by `since`.

    Answers how many decals and sheets moved. The air before `since` must be as it was.
    """
    airs = airs or Airs()
    sheets = _resettle(_in_rooms(_waiting_sheets(since), rooms), airs)
    decals = _in_rooms(_waiting_decals(since), rooms)
    known = {decal.pk for decal in decals}
    decals += [d for d in _decals_on(sheets) if d.pk not in known]
    return len(sheets) + _look_again(decals, airs)


def _waiting_decals(since: datetime) -> Iterable[Decal]:
    open_still = Q(ready_at=None) | Q(ready_at__gt=since) | Q(turns_at__gt=since)
    return _locked_decals().filter(open_still).exclude(waits=[])


def _waiting_sheets(since: datetime) -> Iterable[Sheet]:
    return (
        Sheet.objects.select_for_update()
        .filter(Q(rested_at=None) | Q(rested_at__gt=since), wait__isnull=False)
        .order_by("pk")
    )


def _locked_decals() -> Any:
    return Decal.objects.select_for_update(of=("self",)).select_related("project").order_by("pk")


def _decals_on(sheets: list[Sheet]) -> list[Decal]:
    if not sheets:
        return []
    on_them = Decal.objects.filter(pieces__sheet__in=[sheet.pk for sheet in sheets])
    return list(_locked_decals().filter(pk__in=on_them.values("pk")))


def _in_rooms(things: Iterable[Any], rooms: Collection[int]) -> list[Any]:
    """Those that lie, or lay, in one of the rooms since their wait began."""
    return [t for t in things if not t.stays or any(pk in rooms for _, pk in t.stays)]


def _resettle(sheets: list[Sheet], airs: Airs) -> list[Sheet]:
    before = {sheet.pk: sheet.rested_at for sheet in sheets}
    settle_sheets(sheets, airs)
    moved = [sheet for sheet in sheets if sheet.rested_at != before[sheet.pk]]
    save_columns(moved, ["rested_at"])
    return moved


def _look_again(decals: list[Decal], airs: Airs) -> int:
    before = {decal.pk: _ahead(decal) for decal in decals}
    look_ahead(decals, airs)
    moved = [decal for decal in decals if _ahead(decal) != before[decal.pk]]
    save_columns(moved, AHEAD_FIELDS)
    return len(moved)


def _ahead(decal: Decal) -> tuple[Any, ...]:
    return tuple(getattr(decal, name) for name in AHEAD_FIELDS)
