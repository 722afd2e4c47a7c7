"""Squeeze by outline: pieces nested by their real outlines in quarter turns, to save film. mm.

The nesting library runs in a process of its own with a hard limit on time. What it answers is
checked here for gap, bounds and counts, and kept only if it is shorter than what there was.
Not offered with straight cuts: outlines that reach into each other do not come apart by them.
"""

from __future__ import annotations

import json
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import isfinite
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import IO, Any

from shapely import Polygon, STRtree
from shapely.affinity import rotate, translate

from decaljobs.craft.layoutmodel import GAP, WIDEST_GAP
from decaljobs.services.refused import Refused

#: Longest a squeeze may take, s of wall time, the child's start and the checks included.
LONGEST = 40.0
#: Share of that which the library is told, since it runs over; and that it explores with.
TOLD, EXPLORE = 0.85, 0.8
#: Outlines are simplified outwards by at most this many mm: fewer corners, quicker nesting.
SIMPLER = 0.1
#: The gap and the bounds may be missed by this many mm: less than a cut can be seen to be off.
SLIP = 0.01
MOST_PIECES, MOST_CORNERS = 1_000, 20_000
#: Film saved below this many mm of length is not worth another layout.
WORTH = 1.0
LOOK_EVERY = 0.1


@dataclass(frozen=True)
class OutlinePiece:
    """A decal by its outline: corners in mm, anywhere; copies; whether it may be turned."""

    name: str
    outline: tuple[tuple[float, float], ...]
    copies: int = 1
    turn: bool = True


@dataclass(frozen=True)
class OutlinePlacement:
    """A copy where it lies: turned anticlockwise by `degrees`, then its box at x, y. mm."""

    name: str
    degrees: int
    x: float
    y: float
    width: float
    height: float
    outline: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Squeezed:
    """A nesting that holds: the strip's length and what it saves of the one before, mm."""

    length: float
    saved: float
    placements: tuple[OutlinePlacement, ...]


def squeeze(
    pieces: Sequence[OutlinePiece],
    *,
    width: float,
    length: float,
    gap: float = GAP,
    seconds: float = LONGEST,
    seed: int = 0,
    progress: Callable[[float, float | None], None] = lambda share, shortest: None,
    stopped: Callable[[], bool] = lambda: False,
) -> Squeezed | None:
    """The pieces nested on a strip `width` mm wide, if that is shorter than `length` mm.

    As in a strip layout x runs across the strip and y along it. progress is told the share of
    time gone (0 to 1) and the shortest length so far; once stopped says so, the best until then
    is taken. None where no film is saved. Refuses outlines that are none and pieces wider than
    the strip.
    """
    if not 1 <= seconds <= LONGEST:
        raise Refused(f"A squeeze takes 1 to {LONGEST:.0f} seconds, not {seconds}.")
    if not 0 <= gap <= WIDEST_GAP:
        raise Refused(f"The gap is {gap} mm: 0 to {WIDEST_GAP:.0f} mm is possible.")
    shapes = [_shape(piece) for piece in pieces]
    _check_numbers(pieces)
    job = {
        "items": [
            _item(piece, shape, width, gap) for piece, shape in zip(pieces, shapes, strict=True)
        ],
        "width": width + gap,
        "seconds": seconds * TOLD,
        "explore": EXPLORE,
        "seed": seed,
    }
    nestings = list(_nestings(job, seconds, progress, stopped))
    if not nestings:
        return None
    placements = _placements(pieces, shapes, nestings[-1]["placed"])
    return _kept(pieces, placements, width, length, gap)


def _shape(piece: OutlinePiece) -> Polygon:
    """The outline as one valid polygon without holes."""
    if len(piece.outline) < 3 or not all(isfinite(x) and isfinite(y) for x, y in piece.outline):
        raise Refused(f"“{piece.name}” has no outline of at least three corners.")
    shape = Polygon(piece.outline)
    if not shape.is_valid:
        shape = shape.convex_hull
    if not isinstance(shape, Polygon) or not shape.area > 0:
        raise Refused(f"The outline of “{piece.name}” encloses no area.")
    return shape


def _check_numbers(pieces: Sequence[OutlinePiece]) -> None:
    count = sum(piece.copies for piece in pieces)
    corners = sum(len(piece.outline) for piece in pieces)
    if not pieces or any(piece.copies < 1 for piece in pieces):
        raise Refused("There is nothing to squeeze.")
    if count > MOST_PIECES:
        raise Refused(f"{count} pieces are too many to squeeze: up to {MOST_PIECES} can be.")
    if corners > MOST_CORNERS:
        raise Refused(f"The outlines have {corners} corners: up to {MOST_CORNERS} can be squeezed.")


def _item(piece: OutlinePiece, shape: Polygon, width: float, gap: float) -> list[Any]:
    """Outline with half a gap round it, copies, and the quarter turns that fit the strip.

    The library panics on a piece taller than its strip, so such turns are not offered to it. Its
    strip runs along x and is turned upright afterwards, so a piece turned by 270° stands straight.
    """
    grown = shape.buffer(gap / 2 + SIMPLER, quad_segs=6).simplify(SIMPLER)
    left, low, right, high = shape.bounds
    degrees = [270, 90] if right - left <= width else []
    degrees += [0, 180] if high - low <= width else []
    if not piece.turn:
        degrees = [turn for turn in degrees if turn == 270]
    if not degrees:
        raise Refused(
            f"“{piece.name}” ({right - left:.1f} × {high - low:.1f} mm) does not fit on a strip "
            f"{width:g} mm wide."
        )
    corners = [(x, y) for x, y in grown.exterior.coords[:-1]]
    return [_within(corners, degrees, width + gap - SLIP), piece.copies, degrees]


def _within(corners: list, degrees: list[int], tallest: float) -> list:
    """The corners, drawn in a hair where simplifying made the piece taller than the strip."""
    for axis, turns in ((1, (0, 180)), (0, (90, 270))):
        values = [corner[axis] for corner in corners]
        tall = max(values) - min(values)
        if tall > tallest and any(turn in degrees for turn in turns):
            middle, share = (max(values) + min(values)) / 2, tallest / tall
            for at, corner in enumerate(corners):
                moved = list(corner)
                moved[axis] = middle + (corner[axis] - middle) * share
                corners[at] = tuple(moved)
    return corners


def _nestings(
    job: dict[str, Any],
    seconds: float,
    progress: Callable[[float, float | None], None],
    stopped: Callable[[], bool],
) -> Iterator[dict[str, Any]]:
    """Every nesting the child process writes, until it ends, is stopped, or time is over."""
    began = time.monotonic()
    worker = Path(__file__).with_name("squeeze_worker.py")
    child = subprocess.Popen(  # noqa: S603 (our own file, by its full path)
        [sys.executable, "-I", str(worker)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    shortest = None
    try:
        lines = _lines_of(child, json.dumps(job))
        while (gone := time.monotonic() - began) < seconds and not stopped():
            progress(min(1.0, gone / seconds), shortest)
            try:
                line = lines.get(timeout=min(LOOK_EVERY, seconds - gone))
            except Empty:
                continue
            if line is None:
                break
            nesting = json.loads(line)
            shortest = nesting["length"]
            yield nesting
    finally:
        child.kill()
        child.wait()
    progress(1.0, shortest)


def _lines_of(child: subprocess.Popen[str], job: str) -> SimpleQueue[str | None]:
    """A queue of the child's lines, None at their end; both pipes have a thread of their own."""
    lines: SimpleQueue[str | None] = SimpleQueue()

    def write(pipe: IO[str]) -> None:
        try:
            with pipe:
                pipe.write(job)
        except OSError:
            return

    def read(pipe: IO[str]) -> None:
        with pipe:
            for line in pipe:
                if line.endswith("\n"):
                    lines.put(line)
        lines.put(None)

    for task, pipe in ((write, child.stdin), (read, child.stdout)):
        threading.Thread(target=task, args=(pipe,), daemon=True).start()
    return lines


def _placements(
    pieces: Sequence[OutlinePiece], shapes: Sequence[Polygon], placed: list[list[float]]
) -> list[OutlinePlacement]:
    """Where the real outlines lie, moved so that the first one begins at x = 0 and y = 0."""
    laid = []
    for number, degrees, x, y in placed:
        shape = translate(rotate(shapes[int(number)], degrees, origin=(0, 0)), x, y)
        upright = rotate(shape, 90, origin=(0, 0))
        laid.append((int(number), round(degrees + 90) % 360, upright))
    left = min(shape.bounds[0] for _, _, shape in laid)
    low = min(shape.bounds[1] for _, _, shape in laid)
    return [
        _placement(pieces[number].name, degrees, translate(shape, -left, -low))
        for number, degrees, shape in laid
    ]


def _placement(name: str, degrees: int, shape: Polygon) -> OutlinePlacement:
    left, low, right, high = shape.bounds
    corners = tuple((x, y) for x, y in shape.exterior.coords[:-1])
    return OutlinePlacement(name, degrees, left, low, right - left, high - low, corners)


def _kept(
    pieces: Sequence[OutlinePiece],
    placements: list[OutlinePlacement],
    width: float,
    length: float,
    gap: float,
) -> Squeezed | None:
    """The nesting if nothing is missing, inside, a gap apart, and film is saved; else None."""
    wanted: Counter[str] = Counter()
    for piece in pieces:
        wanted[piece.name] += piece.copies
    if Counter(placed.name for placed in placements) != wanted:
        return None
    if max(placed.x + placed.width for placed in placements) > width + SLIP:
        return None
    if closest(placements, gap) < gap - SLIP:
        return None
    shorter = max(placed.y + placed.height for placed in placements)
    if shorter > length - WORTH:
        return None
    return Squeezed(shorter, length - shorter, tuple(placements))


def closest(placements: Sequence[OutlinePlacement], within: float) -> float:
    """The smallest distance between two outlines, mm; at most a little over `within`."""
    shapes = [Polygon(placed.outline) for placed in placements]
    tree = STRtree(shapes)
    least = within + 1.0
    for at, shape in enumerate(shapes):
        for other in tree.query(shape, predicate="dwithin", distance=within + 1.0).tolist():
            if other > at:
                least = min(least, shape.distance(shapes[other]))
    return least
