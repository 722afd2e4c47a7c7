"""Checks of a layout that know nothing of how it was made. All lengths in mm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

#: Floating point only.
SLIP = 1e-6


class Box(NamedTuple):
    """A laid piece."""

    name: str
    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def upper(self) -> float:
        return self.y + self.height


def boxes_of(placements: Sequence) -> list[Box]:
    """Boxes of placements, whatever class they have."""
    return [Box(p.name, p.x, p.y, p.width, p.height) for p in placements]


def closest_pair(boxes: Sequence[Box], gap: float) -> tuple[Box, Box] | None:
    """Two boxes that are nearer to each other than the gap, along both axes; None if none are."""
    in_order = sorted(boxes, key=lambda box: box.x)
    for at, box in enumerate(in_order):
        for other in in_order[at + 1 :]:
            if other.x >= box.right + gap - SLIP:
                break
            if other.y < box.upper + gap - SLIP and box.y < other.upper + gap - SLIP:
                return box, other
    return None


def outside(boxes: Sequence[Box], left: float, low: float, right: float, high: float) -> list[Box]:
    """The boxes that reach over the bounds."""
    return [
        box
        for box in boxes
        if box.x < left - SLIP
        or box.y < low - SLIP
        or box.right > right + SLIP
        or box.upper > high + SLIP
    ]


def wrong_counts(boxes: Sequence[Box], wanted: dict[str, tuple[float, float, int]]) -> list[str]:
    """Names with another number of copies, or other sides, than (width, height, copies)."""
    laid = Counter(
        (box.name, *sorted((round(box.width, 6), round(box.height, 6)))) for box in boxes
    )
    asked = Counter(
        {
            (name, *sorted((round(width, 6), round(height, 6)))): copies
            for name, (width, height, copies) in wanted.items()
        }
    )
    return sorted({mark[0] for mark in (laid - asked) + (asked - laid)})


def comes_apart(boxes: Sequence[Box]) -> bool:
    """Whether cuts from edge to edge, one after another, free every box."""
    waiting = [list(boxes)]
    while waiting:
        group = waiting.pop()
        if len(group) < 2:
            continue
        parts = _parts(group, 0) or _parts(group, 1)
        if parts is None:
            return False
        waiting += parts
    return True


def _parts(group: Sequence[Box], axis: int) -> list[list[Box]] | None:
    """The group cut along one axis wherever no box is in the way; None where that is nowhere."""
    in_order = sorted(group, key=lambda box: box[1 + axis])
    parts, reach = [[in_order[0]]], in_order[0][1 + axis] + in_order[0][3 + axis]
    for box in in_order[1:]:
        if box[1 + axis] >= reach - SLIP:
            parts.append([])
        parts[-1].append(box)
        reach = max(reach, box[1 + axis] + box[3 + axis])
    return parts if len(parts) > 1 else None
