"""A decal's log read back: what stands, where it has brought the decal, what became of pieces."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from decaljobs.craft.stages import Stage


class EntryKind(StrEnum):
    """What a line of the log tells."""

    STEP = "step"
    SPOILED = "spoiled"
    PIECE_SPOILED = "piece_spoiled"
    GIVEN = "given"
    TAKEN = "taken"
    NOT_YET = "not_yet"
    MOVED = "moved"
    RULE = "rule"
    UNDO = "undo"


#: A piece that goes to an equal decal is as good there as it was here.
LENDING = (EntryKind.GIVEN, EntryKind.TAKEN)


@dataclass(frozen=True)
class Entry:
    """One line of a decal's log; undoes is the number of the line it takes back."""

    number: int
    kind: EntryKind
    from_stage: Stage
    to_stage: Stage
    undoes: int | None = None
    pieces: tuple[int, ...] = ()


def in_force(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """The lines that stand, in order: no undo and nothing undone.

    >>> printed = Entry(1, EntryKind.STEP, Stage.PLANNED, Stage.PRINTED)
    >>> undo = Entry(2, EntryKind.UNDO, Stage.PRINTED, Stage.PLANNED, undoes=1)
    >>> in_force([printed, undo])
    ()
    """
    lines = sorted(entries, key=lambda entry: entry.number)
    undone = {entry.undoes for entry in lines}
    return tuple(e for e in lines if e.kind is not EntryKind.UNDO and e.number not in undone)


def stage_of(entries: Iterable[Entry]) -> Stage:
    """The stage the log has brought the decal to.

    >>> printed = Entry(1, EntryKind.STEP, Stage.PLANNED, Stage.PRINTED)
    >>> undo = Entry(2, EntryKind.UNDO, Stage.PRINTED, Stage.PLANNED, undoes=1)
    >>> stage_of([printed]), stage_of([printed, undo])
    (<Stage.PRINTED: 'printed'>, <Stage.PLANNED: 'planned'>)
    """
    moves = [e for e in in_force(entries) if e.kind in (EntryKind.STEP, EntryKind.SPOILED)]
    return moves[-1].to_stage if moves else Stage.PLANNED


def piece_states(entries: Sequence[Entry]) -> dict[int, str]:
    """What the log says of each piece it names: 'used' or 'spoiled'; all others are good.

    >>> laid = Entry(1, EntryKind.STEP, Stage.SEALED, Stage.BASE_APPLIED, pieces=(7,))
    >>> piece_states([laid])
    {7: 'used'}
    """
    states: dict[int, str] = {}
    for entry in in_force(entries):
        if entry.kind in LENDING:
            continue
        used = entry.kind is EntryKind.STEP
        states.update(dict.fromkeys(entry.pieces, "used" if used else "spoiled"))
    return states
