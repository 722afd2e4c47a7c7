"""Writing to the logs of decals, and reading back where they have brought them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from decaljobs.craft.stages import Stage
from decaljobs.craft.waits import Leg
from decaljobs.models import Decal, Person, Piece, SheetEvent, StageEvent
from decaljobs.services.drying.air import Airs, room_at, stays_from
from decaljobs.services.refused import Refused, moved_on
from decaljobs.services.words import say_moment

Kind = StageEvent.Kind
How = StageEvent.How
MOVES = (Kind.STEP, Kind.SPOILED)
WAIT_CHANGES = (Kind.NOT_YET, Kind.RULE)


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


def check_at_work(decals: Iterable[Decal]) -> None:
    """Refuse work on decals of a project that was put away or thrown away."""
    for decal in decals:
        if not decal.project.is_at_work:
            where = "in the bin" if decal.project.binned_at else "put away"
            raise Refused(f"{decal.project} is {where}: bring it back first.")


def check_seen(decal: Decal, seen: int | None, *, now: datetime) -> None:
    """Refuse a change made on an outdated page, naming what happened meanwhile."""
    if seen is None or seen == decal.events_logged:
        return
    last = decal.events.select_related("by").order_by("-number").first()
    if last is None:
        raise moved_on(decal.words, "it has changed")
    who = f" by {last.by}" if last.by else ""
    when = say_moment(last.at, now=now)
    raise moved_on(decal.words, f"‘{last.words}’ was logged{who}, {when}")


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
    cause: str = "",
    legs: Sequence[Leg] = (),
    clean_surface: bool = False,
    pieces: Sequence[Piece] = (),
    sheet_event: SheetEvent | None = None,
    undoes: StageEvent | None = None,
    twin: Decal | None = None,
    room: int | None = None,
    air: dict[str, Any] | None = None,
) -> StageEvent:
    """Write one line to a decal's log and move the decal (not yet saved) along with it.

    twin: the equal decal that a piece went to or came from. room: where it dries from then on.
    air: the figures of the room that were used.
    """
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
        cause=cause,
        waits=[leg.to_dict() for leg in legs],
        clean_surface=clean_surface,
        sheet_event=sheet_event,
        undoes=undoes,
        twin=twin,
        room_id=room,
        air=air or {},
    )
    if pieces:
        event.pieces.set(pieces)
    _move_along(decal, event)
    return event


def _move_along(decal: Decal, event: StageEvent) -> None:
    """Set a decal (not yet saved) to where its newest line brings it."""
    decal.events_logged = event.number
    if event.kind in MOVES:
        _stand_on(decal, event)
    elif event.kind in WAIT_CHANGES:
        decal.waits = event.waits
    elif event.kind == Kind.MOVED:
        decal.room_id = event.room_id
        decal.stays = [*decal.stays, [event.at.isoformat(), event.room_id]]


def drying_room(decal: Decal, at: datetime, airs: Airs) -> int:
    """The room that what is done to a decal at a time will dry in."""
    before_a_move = any(datetime.fromisoformat(moment) > at for moment, _ in decal.stays)
    found = room_at(decal.stays, at) if before_a_move else decal.room_id
    return airs.room(found).pk


def stand_where_log_says(decal: Decal) -> None:
    """Set a decal (not yet saved) to where the lines in force have brought it."""
    lines = list(decal.events.in_force().order_by("number"))
    steps = [line for line in lines if line.kind in MOVES]
    moves = [line for line in lines if line.kind == Kind.MOVED]
    decal.room_id = room_from(moves, lines, decal.room_id)
    decal.stays = stays_from_moves(moves)
    if not steps:
        decal.stage, decal.stage_at = Stage.PLANNED.value, decal.made_at
        decal.waits, decal.clean_surface = [], False
        return
    _stand_on(decal, steps[-1])
    changes = [e for e in lines if e.kind in WAIT_CHANGES and e.number > steps[-1].number]
    if changes:
        decal.waits = changes[-1].waits


def stays_from_moves(moves: Iterable[StageEvent | SheetEvent]) -> list[list[Any]]:
    """The stays that the moves in force tell of."""
    return [[move.at.isoformat(), move.room_id] for move in moves]


def room_from(
    moves: Sequence[StageEvent | SheetEvent],
    lines: Sequence[StageEvent | SheetEvent],
    room: int | None,
) -> int | None:
    """The room that the lines in force tell of: the last move's, else that of the last line.

    None, the usual room, where they tell of none or where it lay there all along.
    """
    if moves:
        return moves[-1].room_id
    rooms = [line.room_id for line in lines if line.room_id]
    return rooms[-1] if rooms and room else None


def last_in_force(decal: Decal) -> StageEvent | None:
    """The line of the log that an undo would take back."""
    return decal.events.in_force().order_by("-number").first()


def _stand_on(decal: Decal, event: StageEvent) -> None:
    decal.stage, decal.stage_at = event.to_stage, event.at
    decal.waits, decal.clean_surface = event.waits, event.clean_surface
    decal.stays = stays_since(event.at, event.room_id, decal.stays)


def stays_since(start: datetime, room: int | None, stays: Sequence[Sequence[Any]]) -> list[Any]:
    """The stays of a wait that begins in a room: from its start, with the moves behind it."""
    later = [(datetime.fromisoformat(moment), pk) for moment, pk in stays]
    return stays_from(start, room, [move for move in later if move[0] > start])
