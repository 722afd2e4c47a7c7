"""Random changes of a frame: ends of projects, and sessions with spraying."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import log

#: Sessions that an end moves by, on the mean, less one (tried out).
REACH = 1.0
#: Shares of changes of spraying and, of the others, of two ends at once; share of those that let
#: two projects change places; of changes of spraying that begin or end it (all tried out).
SPRAYS, PAIRS, PLACES, FLIPS = 0.15, 0.41, 0.5, 0.4


class FrameMoves:
    """Draws changes of frames over ``count`` sessions; nothing where the draw allows none."""

    def __init__(self, count: int, chance: Callable[[], float]) -> None:
        self.count, self.chance = count, chance

    def is_of_spraying(self) -> bool:
        """Whether the next change is one of spraying."""
        return self.chance() < SPRAYS

    def ends(self, last: Sequence[int]) -> dict[int, int]:
        """Project → its new last session."""
        chance, many = self.chance, len(last)
        one = int(chance() * many)
        if chance() >= PAIRS:
            return self._within({one: last[one] + self._step()})
        other = int(chance() * many)
        if one == other:
            return {}
        if chance() < PLACES:
            same = last[one] == last[other]
            return {} if same else {one: last[other], other: last[one]}
        return self._within({one: last[one] - self._far(), other: last[other] + self._far()})

    def spraying(self, spraying: int) -> int:
        """The sessions with spraying as a mask: one more, one less, or another instead."""
        session = int(self.chance() * self.count)
        if self.chance() < FLIPS:
            return spraying ^ 1 << session
        there = session + self._step()
        if not 0 <= there < self.count or not spraying >> session & 1 or spraying >> there & 1:
            return spraying
        return spraying ^ 1 << session ^ 1 << there

    def _far(self) -> int:
        return 1 + int(-log(1.0 - self.chance()) * REACH)

    def _step(self) -> int:
        return self._far() if self.chance() < 0.5 else -self._far()

    def _within(self, changes: dict[int, int]) -> dict[int, int]:
        """The changes if no end leaves the sessions."""
        return changes if all(0 <= there < self.count for there in changes.values()) else {}
