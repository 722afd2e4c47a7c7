"""Writing to the logs of decals, and reading back where they have brought them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from decaljobs.craft.stages import Stage
from decaljobs.craft.waits import Leg
from decaljobs.models import Decal, Person, Piece, SheetEvent, StageEvent
from decaljobs.services.refused import Overtaken, Refused
from decaljobs.services.words import say_moment

Kind = StageEvent.Kind
How = StageEvent.How
MOVES = (Kind.STEP, Kind.SPOILED)


def lock(ids: Iterable[int]) -> list[Decal]:
    """These decals for a change, in a fixed order so that two makers never lock crosswise."""
    wanted = sorted(set(ids))
    decals = list(
        Decal.objects.select_for_update(of=("self",))
        .filter(pk__in=wanted)
        .select_related("project", "artwork")
        .order_by("pk")
    )
    if len(decals) != len(wanted):
        raise Refused("One of these decals is no longer there.")
    return decals


def check_seen(decal: Decal, seen: int | None, *, now: datetime) -> None:
    """Refuse a change made on an outdated page, naming what happened meanwhile."""
    if seen is None or seen == decal.events_logged:
        return
    last = decal.events.select_related("by").order_by("-number").first()
    if last is None:
        raise Overtaken(f"{decal.words} has changed since this page was drawn.")
    who = f" by {last.by}" if last.by else ""
    raise Overtaken(
        f"{decal.words} has moved on: “{last.words}” was logged{who}, "
        f"{say_moment(last.at, now=now)}. Nothing was logged twice."
    )


def check_time(at: datetime, *, moment: datetime, after: datetime | None, what: str) -> None:
    """Refuse a time in the future, or before the step it follows."""
    if at > moment:
        raise Refused("That time is still to come: a step is logged once it is done.")
    if after is not None and at < after:
        raise Refused(f"That is before {what} ({say_moment(after, now=moment)}), which it follows.")


def append(
    decal: Decal,
    *,
    kind: str,
    to_stage: Stage,
    at: datetime,
    moment: datetime,
    by: Person | None,
    how: str = How.HAND,
    reason: str = "",
    legs: Sequence[Leg] = (),
    clean_surface: bool = False,
    pieces: Sequence[Piece] = (),
    sheet_event: SheetEvent | None = None,
    undoes: StageEvent | None = None,
) -> StageEvent:
    """Write one line to a decal's log and move the decal (not yet saved) along with it."""
    event = StageEvent.objects.create(
        decal=decal,
        number=decal.events_logged + 1,
        kind=kind,
        how=how,
        from_stage=decal.stage,
        to_stage=to_stage,
        at=at,
        logged_at=moment,
        by=by,
        reason=reason,
        waits=[leg.to_dict() for leg in legs],
        clean_surface=clean_surface,
        sheet_event=sheet_event,
        undoes=undoes,
    )
    if pieces:
        event.pieces.set(pieces)
    decal.events_logged = event.number
    if kind in MOVES:
        _stand_on(decal, event)
    return event


def stand_where_log_says(decal: Decal) -> None:
    """Set a decal (not yet saved) to where the lines in force have brought it."""
    last = decal.events.in_force().filter(kind__in=MOVES).order_by("-number").first()
    if last is not None:
        _stand_on(decal, last)
        return
    decal.stage, decal.stage_at = Stage.PLANNED.value, decal.made_at
    decal.waits, decal.clean_surface = [], False


def last_in_force(decal: Decal) -> StageEvent | None:
    """The line of the log that an undo would take back."""
    return decal.events.in_force().order_by("-number").first()


def _stand_on(decal: Decal, event: StageEvent) -> None:
    decal.stage, decal.stage_at = event.to_stage, event.at
    decal.waits, decal.clean_surface = event.waits, event.clean_surface
