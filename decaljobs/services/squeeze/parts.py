"""Which pieces are nested, which stay in boxes, and how the parts of a strip follow each other. mm.

The nesting library is at its best with some dozens of pieces whose boxes are half empty, and poor
with rectangles, where the layout in boxes is at its best. So each gets what it is good at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

from shapely import Geometry, Polygon
from shapely.affinity import rotate, translate
from shapely.ops import unary_union

from decaljobs.craft.layout.model import Piece
from decaljobs.craft.sheetlayout import lay_out_strip

#: A piece that fills so much of its box, both with their gap, gains nothing by its outline.
FILLS_ITS_BOX = 0.9
#: Up to so many pieces are nested as one; more are dealt to parts of that many.
MOST_IN_ONE, MOST_IN_A_PART = 60, 75
#: A part is slid into the one before it by at most this many mm.
DEEPEST_JOIN = 60.0
#: How near to the gap a part is slid, mm.
NEAR = 0.004

#: Pieces by their number, with how many copies of each.
Share = dict[int, int]


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
class Division:
    """What stays in boxes, and the parts in which the rest is nested."""

    boxed: Share
    nested: tuple[Share, ...]


def divisions(
    pieces: Sequence[OutlinePiece], shapes: Sequence[Polygon], gap: float, lanes: int
) -> list[Division]:
    """How the pieces may be divided: few of them in two ways, that both are tried."""
    every = {at: piece.copies for at, piece in enumerate(pieces)}
    boxed = {at: copies for at, copies in every.items() if _fills(shapes[at], gap)}
    rest = {at: copies for at, copies in every.items() if at not in boxed}
    mixed = bool(boxed and rest)
    if sum(every.values()) <= MOST_IN_ONE:
        both = [Division({}, (every,))]
        return [*both, Division(boxed, (rest,))] if mixed else both
    chosen = rest if mixed else every
    return [Division(boxed if mixed else {}, tuple(_dealt(chosen, shapes, lanes)))]


def _fills(shape: Polygon, gap: float) -> bool:
    left, low, right, high = shape.bounds
    room = (right - left + gap) * (high - low + gap)
    return bool(shape.buffer(gap / 2).area >= FILLS_ITS_BOX * room)


def _dealt(share: Share, shapes: Sequence[Polygon], lanes: int) -> list[Share]:
    """Parts that are alike in sizes, as many for each lane."""
    count = sum(share.values())
    number = 1 if count <= MOST_IN_ONE else lanes * ceil(count / (lanes * MOST_IN_A_PART))
    parts: list[Share] = [{} for _ in range(number)]
    by_size = sorted(share, key=lambda at: -shapes[at].area)
    copies = [at for at in by_size for _ in range(share[at])]
    for turn, at in enumerate(copies):
        part = parts[turn % number]
        part[at] = part.get(at, 0) + 1
    return parts


def in_boxes(
    pieces: Sequence[OutlinePiece],
    shapes: Sequence[Polygon],
    share: Share,
    width: float,
    gap: float,
    seconds: float,
) -> list[OutlinePlacement]:
    """A share laid out in boxes from the strip's foot on, in so many seconds."""
    if not share:
        return []
    boxes, shape_of = [], {}
    for at, copies in share.items():
        left, low, right, high = shapes[at].bounds
        boxes.append(Piece(str(at), right - left, high - low, copies, pieces[at].turn))
        shape_of[str(at)] = shapes[at]
    laid = lay_out_strip(boxes, width, gap=gap, seconds=seconds, together=False)
    placements = []
    for lying in laid.placements:
        degrees = 90 if lying.turned else 0
        shape = rotate(shape_of[lying.name], degrees, origin=(0, 0))
        moved = translate(shape, lying.x - shape.bounds[0], lying.y - shape.bounds[1])
        placements.append(placement(pieces[int(lying.name)].name, degrees, moved))
    return placements


def placement(name: str, degrees: int, shape: Polygon) -> OutlinePlacement:
    """A copy as its outline lies on the strip."""
    left, low, right, high = shape.bounds
    corners = tuple((x, y) for x, y in shape.exterior.coords[:-1])
    return OutlinePlacement(name, degrees, left, low, right - left, high - low, corners)


def joined(
    parts: Sequence[list[OutlinePlacement]], gap: float, width: float, *, half_turns: bool
) -> list[OutlinePlacement]:
    """Parts one after the other, each slid into the one before as far as the gap allows.

    Which comes next, and whether turned by a half, is what slides in deepest.
    """
    waiting = [part for part in parts if part]
    strip = waiting.pop(0) if waiting else []
    while waiting:
        top = _top(strip)
        lower = _near(strip, top)
        best: tuple[float, int, list[OutlinePlacement]] | None = None
        for number, part in enumerate(waiting):
            for lying in (part, _half_turned(part, width)) if half_turns else (part,):
                along = _slid(lower, top, lying, gap)
                if best is None or along + _top(lying) - _top(part) < best[0]:
                    best = along, number, lying
        if best is None:  # cannot be: something waits
            break
        along, number, lying = best
        strip = strip + [_moved(placed, along) for placed in lying]
        waiting.pop(number)
    return strip


def _top(placements: Sequence[OutlinePlacement]) -> float:
    return max(placed.y + placed.height for placed in placements)


def _near(strip: Sequence[OutlinePlacement], top: float) -> Geometry:
    """What of the strip a part can meet."""
    reach = top - 2 * DEEPEST_JOIN
    return unary_union([Polygon(p.outline) for p in strip if p.y + p.height > reach])


def _slid(lower: Geometry, top: float, part: Sequence[OutlinePlacement], gap: float) -> float:
    """How far along the strip the part comes to begin."""
    reach = 2 * DEEPEST_JOIN
    upper = unary_union([Polygon(p.outline) for p in part if p.y < reach])
    far, near = top + gap, max(0.0, top - DEEPEST_JOIN)
    while far - near > NEAR:
        middle = (far + near) / 2
        if lower.distance(translate(upper, 0, middle)) >= gap:
            far = middle
        else:
            near = middle
    return far


def _half_turned(part: Sequence[OutlinePlacement], width: float) -> list[OutlinePlacement]:
    top = _top(part)
    return [
        replace(
            placed,
            degrees=(placed.degrees + 180) % 360,
            x=width - placed.x - placed.width,
            y=top - placed.y - placed.height,
            outline=tuple((width - x, top - y) for x, y in placed.outline),
        )
        for placed in part
    ]


def _moved(placed: OutlinePlacement, along: float) -> OutlinePlacement:
    corners = tuple((x, y + along) for x, y in placed.outline)
    return replace(placed, y=placed.y + along, outline=corners)
