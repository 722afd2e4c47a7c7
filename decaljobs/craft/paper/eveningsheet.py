"""One session on paper: the tasks of an evening across projects, as the printer wants them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SheetTask:
    """One task: when, what, for which project and how long, with what to heed and have ready.

    places: the decals one by one, each with where its piece lies. caution is '' where nothing
    is sharp, sprayed or hot.
    """

    clock: str
    words: str
    minutes: int
    project: str = ""
    places: tuple[str, ...] = ()
    caution: str = ""
    materials: tuple[str, ...] = ()
    how: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class EveningSheet:
    """A session's paper. when: the session in words; ready: what to lay out for all of it."""

    when: str
    maker: str
    printed_at: str
    zone: str
    tasks: tuple[SheetTask, ...]

    @property
    def ready(self) -> tuple[str, ...]:
        """Everything that the tasks want at hand, once each, in the order of need."""
        return tuple(dict.fromkeys(what for task in self.tasks for what in task.materials))
