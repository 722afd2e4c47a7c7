"""Squeeze by outline: pieces nested by their real outlines in quarter turns, to save film. mm.

The nesting library runs in a process of its own with a hard limit on time. What it answers is
checked here for gap, bounds and counts, and kept only if it is shorter than what there was.
Not offered with straight cuts: outlines that reach into each other do not come apart by them.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Any

from shapely import Polygon, STRtree
from shapely.affinity import rotate, translate

from decaljobs.craft.layout.model import GAP, WIDEST_GAP
from decaljobs.services.refused import Refused
from decaljobs.services.squeeze.lanes import Nesting, StripPart, nested
from decaljobs.services.squeeze.parts import (
    MOST_IN_ONE,
    Division,
    OutlinePiece,
    OutlinePlacement,
    Share,
    divisions,
    in_boxes,
    joined,
    placement,
)
from decaljobs.services.squeeze.settling import closer
from decaljobs.services.squeeze.shortening import can_be_shortened, rearranged_strip

__all__ = ["LONGEST", "WORTH", "OutlinePiece", "OutlinePlacement", "Squeezed", "squeeze"]

#: Longest a squeeze may take, s of wall time, the child's start and the checks included.
LONGEST = 40.0
#: Processes that nest side by side, a core each.
LANES = 2
#: Outlines are simplified outwards by the first of these many mm that leaves no more than so many
#: corners, and bays narrower than twice CLOSED closed: no piece lies in those, and with fewer
#: corners twice as much is tried in the time (tried out).
SIMPLER, MOST_OF_ONE, CLOSED = (0.03, 0.05, 0.08), 60, 2.5
#: Arcs of outlines have so many corners in a quarter, that they miss the arc by no more than SLIP.
CORNERS = 16
#: The gap and the bounds may be missed by this many mm: less than a cut can be seen to be off.
SLIP = 0.01
MOST_PIECES, MOST_CORNERS = 1_000, 20_000
#: Shares of the time for the layout of what stays in boxes, and for joining and checking it all.
BOXES, ASSEMBLING = 0.04, 0.06
#: Longest that few pieces are made shorter as one strip, s: a second finds what there is.
REARRANGING = 2.0
#: Film saved below this many mm of length is not worth another layout.
WORTH = 1.0


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
    items = [_item(piece, shape, width, gap) for piece, shape in zip(pieces, shapes, strict=True)]
    until = time.monotonic() + seconds
    ways = [
        _Way(pieces, shapes, division, width, gap, seconds * BOXES)
        for division in divisions(pieces, shapes, gap, LANES)
    ]

    def told(share: float, lengths: Sequence[float | None]) -> None:
        waiting = iter(lengths)
        found = [way.length([next(waiting) for _ in way.nested]) for way in ways]
        progress(share, min((length for length in found if length is not None), default=None))

    nestings = nested(
        [_part(items, share, width, gap) for way in ways for share in way.nested],
        lanes=LANES,
        seconds=until - time.monotonic() - seconds * ASSEMBLING,
        seed=seed,
        progress=told,
        stopped=stopped,
    )
    waiting = iter(nestings)
    found = [way.whole([next(waiting) for _ in way.nested], until) for way in ways]
    kept = [_kept(pieces, laid, width, length, gap) for laid in found if laid]
    return min((one for one in kept if one), key=lambda one: one.length, default=None)


def _part(items: Sequence[list[Any]], share: Share, width: float, gap: float) -> StripPart:
    chosen = ((items[at], copies) for at, copies in share.items())
    parts = tuple([grown, copies, turns, real] for (grown, _, turns, real), copies in chosen)
    return StripPart(parts, width + gap, gap, shortens=can_be_shortened(parts))


class _Way:
    """One division of the pieces, from what stays in boxes to the whole strip."""

    def __init__(
        self,
        pieces: Sequence[OutlinePiece],
        shapes: Sequence[Polygon],
        division: Division,
        width: float,
        gap: float,
        seconds: float,
    ) -> None:
        self.pieces, self.shapes, self.width, self.gap = pieces, shapes, width, gap
        self.nested = division.nested
        self.boxed = in_boxes(pieces, shapes, division.boxed, width, gap, seconds)
        self.box_length = max((p.y + p.height + gap for p in self.boxed), default=0.0)

    def length(self, lengths: Sequence[float | None]) -> float | None:
        """How long the strip is with these nestings before they are joined, a gap included."""
        known = [length for length in lengths if length is not None]
        return sum(known) + self.box_length if len(known) == len(lengths) else None

    def whole(
        self, nestings: Sequence[Nesting | None], until: float
    ) -> list[OutlinePlacement] | None:
        """The strip, let down until that moment of the clock; None where a part is missing."""
        parts = [self.boxed]
        for share, nesting in zip(self.nested, nestings, strict=True):
            if nesting is None:
                return None
            numbers = list(share)
            placed = [(numbers[int(at)], degrees, x, y) for at, degrees, x, y in nesting["placed"]]
            parts.append(_placements(self.pieces, self.shapes, placed))
        turning = all(piece.turn for piece in self.pieces)
        strip = joined(parts, self.gap, self.width, half_turns=turning)
        tight = closer(strip, self.gap, self.width, over=lambda: time.monotonic() >= until)
        return self._rearranged(tight, until) if len(tight) <= MOST_IN_ONE else tight

    def _rearranged(self, strip: list[OutlinePlacement], until: float) -> list[OutlinePlacement]:
        """What lies in boxes and what is nested after it, as one strip made shorter."""
        items = [[None, 1, None, shape.exterior.coords] for shape in self.shapes]
        names = {piece.name for piece in self.pieces}
        parts = len(self.nested) + bool(self.boxed)
        if parts < 2 or len(names) < len(self.pieces) or not can_be_shortened(items):
            return strip
        until = min(until, time.monotonic() + REARRANGING)
        return rearranged_strip(
            self.pieces,
            self.shapes,
            strip,
            gap=self.gap,
            width=self.width,
            over=lambda: time.monotonic() >= until,
        )


def _shape(piece: OutlinePiece) -> Polygon:
    """The outline as one valid polygon without holes."""
    if len(piece.outline) < 3 or not all(isfinite(x) and isfinite(y) for x, y in piece.outline):
        raise Refused(f"‘{piece.name}’ has no outline of at least three corners.")
    shape = Polygon(piece.outline)
    if not shape.is_valid:
        shape = shape.convex_hull
    if not isinstance(shape, Polygon) or not shape.area > 0:
        raise Refused(f"The outline of ‘{piece.name}’ encloses no area.")
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
    """Outline with half a gap round it, copies, the turns that fit the strip, the real outline.

    The library panics on a piece taller than its strip, so such turns are not offered to it. Its
    strip runs along x and is turned upright afterwards, so a piece turned by 270° stands straight.
    """
    grown = _simplified(shape, gap)
    left, low, right, high = shape.bounds
    degrees = [270, 90] if right - left <= width else []
    degrees += [0, 180] if high - low <= width else []
    if not piece.turn:
        degrees = [turn for turn in degrees if turn == 270]
    if not degrees:
        raise Refused(
            f"‘{piece.name}’ ({right - left:.1f} × {high - low:.1f} mm) does not fit on a strip "
            f"{width:g} mm wide."
        )
    corners = [(x, y) for x, y in grown.exterior.coords[:-1]]
    real = list(shape.exterior.coords[:-1])
    return [_within(corners, degrees, width + gap - SLIP), piece.copies, degrees, real]


def _simplified(shape: Polygon, gap: float) -> Polygon:
    """The outline with half a gap round it and no narrow bays; nowhere nearer than that."""
    for simpler in SIMPLER:
        wide = shape.buffer(gap / 2 + simpler + CLOSED, quad_segs=CORNERS)
        back = Polygon(wide.exterior).buffer(-CLOSED, quad_segs=CORNERS)
        outline = back.simplify(simpler - SLIP)
        if len(outline.exterior.coords) <= MOST_OF_ONE:
            break
    # Growing and shrinking is exact to a hundredth of the distance only.
    short = gap / 2 - shape.distance(outline.exterior)
    return outline.buffer(short + SLIP / 4, join_style="mitre") if short > 0 else outline


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


def _placements(
    pieces: Sequence[OutlinePiece],
    shapes: Sequence[Polygon],
    placed: Sequence[tuple[int, float, float, float]],
) -> list[OutlinePlacement]:
    """Where the real outlines lie, moved so that the first one begins at x = 0 and y = 0."""
    laid = []
    for number, degrees, x, y in placed:
        shape = translate(rotate(shapes[number], degrees, origin=(0, 0)), x, y)
        upright = rotate(shape, 90, origin=(0, 0))
        laid.append((number, round(degrees + 90) % 360, upright))
    left = min(shape.bounds[0] for _, _, shape in laid)
    low = min(shape.bounds[1] for _, _, shape in laid)
    return [
        placement(pieces[number].name, degrees, translate(shape, -left, -low))
        for number, degrees, shape in laid
    ]


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
