"""Squeeze by outline: pieces nested by their real outlines in quarter turns, to save film. mm.

The nesting library runs in a process of its own with a hard limit on time. What it answers is
checked here for gap, bounds and counts, and kept only if it is shorter than what there was.
Not offered with straight cuts: outlines that reach into each other do not come apart by them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil, isfinite
from typing import Any

from shapely import Polygon, STRtree
from shapely.affinity import rotate, translate
from shapely.ops import unary_union

from decaljobs.craft.layoutmodel import GAP, WIDEST_GAP
from decaljobs.services.refused import Refused
from decaljobs.services.squeeze_lanes import Part, nested

#: Longest a squeeze may take, s of wall time, the child's start and the checks included.
LONGEST = 40.0
#: Processes that nest side by side, a core each.
LANES = 2
#: Up to so many pieces are nested as one; more are dealt to parts of that many.
MOST_IN_ONE, MOST_IN_A_PART = 60, 75
#: A part is slid into the one before it by at most this many mm.
DEEPEST_JOIN = 60.0
#: Outlines are simplified outwards by this many mm: fewer corners, quicker nesting.
SIMPLER = 0.04
#: The gap and the bounds may be missed by this many mm: less than a cut can be seen to be off.
SLIP = 0.01
MOST_PIECES, MOST_CORNERS = 1_000, 20_000
#: Film saved below this many mm of length is not worth another layout.
WORTH = 1.0


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
    items = [_item(piece, shape, width, gap) for piece, shape in zip(pieces, shapes, strict=True)]
    shares = _shares(pieces, shapes)
    nestings = nested(
        [_part(items, share, width + gap) for share in shares],
        lanes=LANES,
        seconds=seconds,
        seed=seed,
        progress=progress,
        stopped=stopped,
    )
    placements: list[OutlinePlacement] = []
    for share, nesting in zip(shares, nestings, strict=True):
        if nesting is None:
            return None
        numbered = [(share[int(at)][0], degrees, x, y) for at, degrees, x, y in nesting["placed"]]
        placements = _joined(placements, _placements(pieces, shapes, numbered), gap)
    return _kept(pieces, placements, width, length, gap)


def _shares(
    pieces: Sequence[OutlinePiece], shapes: Sequence[Polygon]
) -> list[list[tuple[int, int]]]:
    """Pieces by number with their copies, dealt to parts that are alike in sizes.

    The library is at its best with some dozens of pieces, so more are nested in parts.
    """
    count = sum(piece.copies for piece in pieces)
    number = 1 if count <= MOST_IN_ONE else LANES * ceil(count / (LANES * MOST_IN_A_PART))
    shares: list[dict[int, int]] = [{} for _ in range(number)]
    by_size = sorted(range(len(pieces)), key=lambda at: -shapes[at].area)
    copies = [at for at in by_size for _ in range(pieces[at].copies)]
    for turn, at in enumerate(copies):
        share = shares[turn % number]
        share[at] = share.get(at, 0) + 1
    return [list(share.items()) for share in shares]


def _part(items: Sequence[list[Any]], share: list[tuple[int, int]], width: float) -> Part:
    return Part(tuple([items[at][0], copies, items[at][2]] for at, copies in share), width)


def _joined(
    before: list[OutlinePlacement], later: list[OutlinePlacement], gap: float
) -> list[OutlinePlacement]:
    """Two nestings one after the other, the later moved as near as the gap allows."""
    if not before:
        return later
    top = max(placed.y + placed.height for placed in before)
    lower, upper = (unary_union([Polygon(p.outline) for p in part]) for part in (before, later))
    far, near = top + gap, max(0.0, top - DEEPEST_JOIN)
    while far - near > SLIP / 2:
        middle = (far + near) / 2
        if lower.distance(translate(upper, 0, middle)) >= gap:
            far = middle
        else:
            near = middle
    return before + [_moved(placed, far) for placed in later]


def _moved(placed: OutlinePlacement, along: float) -> OutlinePlacement:
    corners = tuple((x, y + along) for x, y in placed.outline)
    return replace(placed, y=placed.y + along, outline=corners)


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
