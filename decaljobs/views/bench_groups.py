"""The bench's rows under what they have in common: a step's caution, or a reason to be held."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from decaljobs.craft.cautions import Soak
from decaljobs.views.batches import Batch

#: A list of more rows than this shows so many less one and folds the rest away.
LONGEST_UNFOLDED = 6


@dataclass(frozen=True)
class Rows:
    """Rows under one heading: those shown at once, and those folded away below them."""

    key: str
    rows: Sequence[Any]

    @property
    def shown(self) -> Sequence[Any]:
        return self.rows[: self._many]

    @property
    def folded(self) -> Sequence[Any]:
        return self.rows[self._many :]

    @property
    def _many(self) -> int:
        return len(self.rows) if len(self.rows) <= LONGEST_UNFOLDED else LONGEST_UNFOLDED - 1


@dataclass(frozen=True)
class ReadyPart(Rows):
    """Ready rows of one and the same caution; care: what others of the group need not heed."""

    care: str


@dataclass(frozen=True)
class ReadyGroup:
    """The ready rows of one next step, under what their cautions have in common.

    weather: whether it may be sprayed now, for each room that the rows lie in.
    batches: what one tap logs at one go, project by project. soak: of a step that lays.
    """

    title: str
    caution: str
    weather: list[str]
    parts: list[ReadyPart]
    batches: list[Batch]
    soak: Soak | None

    @property
    def label(self) -> str:
        """What its buttons log."""
        return self.parts[0].rows[0].label


@dataclass(frozen=True)
class HeldGroup(Rows):
    """Rows held for one and the same reason, with what helps."""

    reason: str
    remedy: str
    remedy_href: str


def ready_parts(step: str, rows: Sequence[Any]) -> tuple[str, list[ReadyPart]]:
    """What all rows of a step have to heed, and the rows by what only some of them have to."""
    found = _gathered((row.caution, row) for row in rows)
    common, own = told_apart(tuple(found))
    parts = [
        ReadyPart(f"ready-{step}-{place}", members, care)
        for place, (members, care) in enumerate(zip(found.values(), own, strict=True))
    ]
    return common, parts


@lru_cache(maxsize=64)
def told_apart(cautions: tuple[str, ...]) -> tuple[str, tuple[str, ...]]:
    """The sentences that all of these cautions hold, and those that each holds besides."""
    split = [_sentences(caution) for caution in cautions]
    common = [said for said in split[0] if all(said in other for other in split)]
    own = tuple(" ".join(said for said in one if said not in common) for one in split)
    return " ".join(common), own


def held_groups(rows: Iterable[Any]) -> list[HeldGroup]:
    """Held rows by why they are held and what helps: the newest reason first, 1 of 2 before 2."""
    found = _gathered(((row.reason, row.remedy, row.remedy_href), row) for row in rows)
    return [
        HeldGroup(f"held-{place}", members[::-1], *why)
        for place, (why, members) in enumerate(found.items())
    ]


def _gathered(pairs: Iterable[tuple[Any, Any]]) -> dict[Any, list[Any]]:
    groups: dict[Hashable, list[Any]] = {}
    for key, row in pairs:
        groups.setdefault(key, []).append(row)
    return groups


def _sentences(text: str) -> list[str]:
    return [f"{part.removesuffix('.')}." for part in text.split(". ") if part]
