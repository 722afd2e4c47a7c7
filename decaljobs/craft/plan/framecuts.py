"""Cuts: what a packing that failed asks of the next frame.

The sessions that stayed overfull get prices. What the tasks of a frame cost at the least by them,
each in its window, is a bound like that of a run of sessions, but for just these sessions; the
next frame must stay below what the failed one asked for.
"""

from __future__ import annotations

from collections.abc import Sequence

from decaljobs.craft.plan.frames import Frame, Frames, Windows


class Cut:
    """Prices of a minute by session, and the ``limit`` of what a frame may ask for."""

    def __init__(
        self, frames: Frames, prices: Sequence[float], frame: Frame, relief: float
    ) -> None:
        """The next frame has to ask for ``relief`` less than ``frame`` does."""
        self.frames, self.prices = frames, prices
        self.known: dict[tuple[int, tuple[int, ...], tuple[int, ...]], float] = {}
        parts = [self.asked(number, part) for number, part in enumerate(frames.parts(frame))]
        self.limit = sum(parts) + self.sprayed(frame.spraying) - relief

    def asked(self, number: int, windows: Windows) -> float:
        """What the tasks of a group cost at the least, in priced minutes."""
        key = (number, windows.low, windows.high)
        if key not in self.known:
            minutes, prices = self.frames.model.minutes, self.prices
            self.known[key] = sum(
                minutes[task] * min(prices[first : last + 1])
                for task, first, last in zip(
                    self.frames.groups[number].tasks, windows.low, windows.high, strict=True
                )
            )
        return self.known[key]

    def sprayed(self, spraying: int) -> float:
        """What set-up and cleaning of the airbrush cost, in priced minutes."""
        priced = sum(p for session, p in enumerate(self.prices) if spraying >> session & 1)
        return self.frames.overhead * priced
