"""The processes that nest: each lane runs one after the other, all lanes side by side.

Every nesting a process writes is kept if it is the shortest of its part so far. Processes are
killed when their time is over, when told to stop, and whatever happens here.
"""

from __future__ import annotations

import json
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import IO, Any

WORKER = Path(__file__).with_name("worker.py")
#: The processes are looked at so often, s.
LOOK_EVERY = 0.1
#: Share of the time that a process is told, since the library runs over; and that it explores in.
TOLD, EXPLORE = 0.97, 0.7
#: Share of the time that the library nests in where our own search makes its nesting shorter, and
#: the time in s below which that is not begun.
NESTING, WORTH_BEGINNING = 0.3, 10.0

Nesting = dict[str, Any]


@dataclass(frozen=True)
class StripPart:
    """Outlines for one strip, and the strip's width, half a gap more than it on both sides, mm.

    Each is [corners with half a gap round them, copies, degrees, the real corners]. What the
    library nests may be made shorter by our own search.
    """

    items: tuple[list[Any], ...]
    width: float
    gap: float = 0.0
    shortens: bool = False


def nested(
    parts: Sequence[StripPart],
    *,
    lanes: int,
    seconds: float,
    seed: int,
    progress: Callable[[float, list[float | None]], None],
    stopped: Callable[[], bool],
) -> list[Nesting | None]:
    """The shortest nesting of each part, found in that many seconds of wall time.

    progress is told the share of time gone and the length of each part so far.

    One part is nested in every lane with a seed of its own; several are dealt to the lanes.
    """
    began, best = time.monotonic(), _Best(len(parts))
    working = _lanes(parts, lanes, seconds, seed)
    try:
        while True:
            # Every lane is looked at: the first that works must not hide the others.
            busy = [lane.works(best) for lane in working]
            gone = time.monotonic() - began
            if not any(busy) or gone >= seconds or stopped():
                break
            progress(min(1.0, gone / seconds), best.lengths)
            time.sleep(min(LOOK_EVERY, seconds - gone))
    finally:
        for lane in working:
            lane.end()
    progress(1.0, best.lengths)
    return best.nestings


def _lanes(parts: Sequence[StripPart], lanes: int, seconds: float, seed: int) -> list[_Lane]:
    if len(parts) == 1:
        return [_Lane([(0, parts[0])], seconds, seed + number) for number in range(lanes)]
    numbered = list(enumerate(parts))
    dealt = [numbered[number::lanes] for number in range(min(lanes, len(parts)))]
    return [_Lane(jobs, seconds / len(jobs), seed) for jobs in dealt]


class _Best:
    """The shortest nesting of each part."""

    def __init__(self, parts: int) -> None:
        self.nestings: list[Nesting | None] = [None] * parts

    def take(self, part: int, nesting: Nesting) -> None:
        known = self.nestings[part]
        if known is None or nesting["length"] < known["length"]:
            self.nestings[part] = nesting

    @property
    def lengths(self) -> list[float | None]:
        """The length of each part, mm; None where it has no nesting yet."""
        return [nesting["length"] if nesting else None for nesting in self.nestings]


class _Lane:
    """Nests its jobs one after the other, each in a process of its own."""

    def __init__(self, jobs: Sequence[tuple[int, StripPart]], seconds: float, seed: int) -> None:
        self.waiting, self.seconds, self.seed = list(jobs), seconds, seed
        self.child: _Child | None = None
        self.part, self.until = 0, 0.0

    def works(self, best: _Best) -> bool:
        """Whether it has anything to do still; takes what was found since the last look."""
        if self.child is not None:
            over = False
            for line in self.child.lines():
                if line is None:
                    over = True
                else:
                    best.take(self.part, json.loads(line))
            if over or time.monotonic() >= self.until:
                self.end()
        if self.child is None and self.waiting:
            self.part, part = self.waiting.pop(0)
            self.until = time.monotonic() + self.seconds
            self.child = _Child(part, self.seconds, self.seed)
        return self.child is not None

    def end(self) -> None:
        if self.child is not None:
            self.child.end()
        self.child = None


class _Child:
    """One process, its job on its way in and its lines on their way out."""

    def __init__(self, part: StripPart, seconds: float, seed: int) -> None:
        told = seconds * TOLD
        job = {"items": part.items, "width": part.width, "gap": part.gap, "seed": seed}
        self.process = subprocess.Popen(  # noqa: S603 (our own file, by its full path)
            [sys.executable, "-I", str(WORKER)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        self.written: SimpleQueue[str | None] = SimpleQueue()
        shortens = part.shortens and seconds >= WORTH_BEGINNING
        shares = {"nesting": NESTING if shortens else 1.0, "explore": EXPLORE}
        words = json.dumps(job | {"seconds": told} | shares)
        for task, pipe in (
            (lambda pipe: self._write(pipe, words), self.process.stdin),
            (self._read, self.process.stdout),
        ):
            threading.Thread(target=task, args=(pipe,), daemon=True).start()

    def lines(self) -> list[str | None]:
        """What was written since the last look; None stands for the end."""
        found: list[str | None] = []
        while True:
            try:
                found.append(self.written.get_nowait())
            except Empty:
                return found

    def end(self) -> None:
        self.process.kill()
        self.process.wait()

    def _write(self, pipe: IO[str], words: str) -> None:
        try:
            with pipe:
                pipe.write(words)
        except OSError:
            return

    def _read(self, pipe: IO[str]) -> None:
        with pipe:
            for line in pipe:
                if line.endswith("\n"):
                    self.written.put(line)
        self.written.put(None)
