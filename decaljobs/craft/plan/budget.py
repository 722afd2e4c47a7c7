"""How long a search may go on: until a number of tries, or until a clock says so."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from time import monotonic


@dataclass(slots=True)
class Budget:
    """Seconds by ``clock`` (0 or more), or, for a repeatable search, tries (``iterations``).

    Raises ValueError for less than 0 of either.

    >>> Budget(seconds=9.0, iterations=10).spent(5)
    0.5
    """

    seconds: float
    iterations: int | None = None
    clock: Callable[[], float] = monotonic
    began: float = field(init=False, default=0.0)

    def __post_init__(self) -> None:
        if self.seconds < 0:
            raise ValueError(f"seconds must be 0 or more, not {self.seconds}")
        if self.iterations is not None and self.iterations < 0:
            raise ValueError(f"iterations must be 0 or more, not {self.iterations}")
        if self.iterations is None:
            self.began = self.clock()

    def spent(self, tries: int) -> float:
        """The share that is over: 0 at the start, 1 or more at the end."""
        if self.iterations is not None:
            return tries / self.iterations if self.iterations else 1.0
        return (self.clock() - self.began) / self.seconds if self.seconds else 1.0

    def until(self, share: float) -> Budget:
        """A budget of its own that begins now and ends when that share of this one is over.

        >>> Budget(seconds=9.0, iterations=10).until(0.5).iterations
        5
        """
        if self.iterations is not None:
            return replace(self, iterations=round(share * self.iterations))
        part = replace(self)
        part.seconds = max(0.0, share * self.seconds - (part.began - self.began))
        return part

    def part(self, share: float, tries: int) -> Budget:
        """A budget of its own that begins now: a share of this one, at most what is left of it.

        ``tries`` are those of this one up to now; a part has one at the least.

        >>> Budget(seconds=9.0, iterations=10).part(0.5, tries=8).iterations
        2
        """
        share = max(0.0, min(share, 1.0 - self.spent(tries)))
        if self.iterations is not None:
            return replace(self, iterations=max(1, round(share * self.iterations)))
        return replace(self, seconds=share * self.seconds)
