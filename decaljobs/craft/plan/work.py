"""The work left on models and sheets, and the jobs that it is divided into, as plain values."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from decaljobs.craft.doings import Doing
from decaljobs.craft.plan.tasks import Readiness, Session, Task
from decaljobs.craft.plan.waits import Never, Until

LAYER_WORDS = {Doing.BASE: "the base layer", Doing.CLEAR: "the clear layer"}
#: A wait that runs already.
RunningWait = Until | Never


@dataclass(frozen=True, slots=True)
class SheetWork:
    """What is left to do on a sheet of film, and its waits.

    key: its number, or 'next-white' or 'next-clear' for a sheet still to be filled. running: the
    wait after its last print or coat, None before it is printed.
    """

    key: str
    words: str
    printed: bool
    coats_done: int
    coats_wanted: int
    running: RunningWait | None
    after_print: Readiness
    after_coat: Readiness
    after_last: Readiness

    @property
    def is_sealed(self) -> bool:
        """Whether it is printed and has all its coats."""
        return self.printed and self.coats_done >= self.coats_wanted


@dataclass(frozen=True, slots=True)
class DecalWork:
    """What is left to do on a decal.

    layers: the layers still to be laid, in order, each with the key of the sheet that its piece
    comes from. running: the wait on the model now, None where none runs. after: what dries after
    each layer, before the next step for the hands. to_seal: whether all of its sheets have to be
    sealed before its first layer is laid.
    """

    pk: int
    project: str
    place: str
    layers: tuple[tuple[Doing, str], ...]
    running: RunningWait | None
    after: Mapping[Doing, Readiness]
    overcoat: bool = False
    to_seal: bool = False

    def __hash__(self) -> int:
        return self.pk


@dataclass(frozen=True)
class BenchWork:
    """All that is left at the bench, and what bears on how it is divided into tasks.

    pins: the session that a piece of work is pinned to, by its name ('base:17'). dries: by
    project, what dries after its overcoat. names: what the maker calls each project.
    """

    moment: datetime
    decals: Sequence[DecalWork]
    sheets: Mapping[str, SheetWork]
    sessions: Sequence[Session]
    minutes: Mapping[Doing, int]
    dries: Mapping[str, Readiness]
    pins: Mapping[str, Session] = field(default_factory=dict)
    names: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Job:
    """What a task does to which records: decals, or one sheet (with the number of its coat)."""

    task: Task
    doing: Doing
    decals: tuple[int, ...] = ()
    sheet: str = ""
    coat: int = 0

    @property
    def works(self) -> tuple[str, ...]:
        """The names under which its parts can be pinned; they outlive a change of the lot."""
        if self.doing not in LAYER_WORDS:
            return (self.task.id,)
        return tuple(work_name(self.doing, pk) for pk in self.decals)


def work_name(doing: Doing, thing: int | str, coat: int = 0) -> str:
    """The name of one piece of work: 'base:17', 'print:4', 'coat:4:2'.

    >>> work_name(Doing.COAT, 4, 2)
    'coat:4:2'
    """
    return f"{doing}:{thing}:{coat}" if coat else f"{doing}:{thing}"
