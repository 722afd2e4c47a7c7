"""The upper edge of what is laid: segments from left to right, each with a height and a width."""

from __future__ import annotations

Skyline = tuple[list[int], list[int]]


def laid(heights: list[int], widths: list[int], spot: int, across: int, top: int) -> Skyline:
    """The skyline after a piece `across` wide is laid at the left end of segment `spot`.

    Neighbours of equal height become one segment.

    >>> laid([0, 5], [10, 4], 0, 6, 5)
    ([5, 0, 5], [6, 4, 4])
    >>> laid([5, 0, 5], [6, 4, 4], 1, 4, 5)
    ([5], [14])
    """
    heights, widths = heights[:], widths[:]
    room = widths[spot] - across
    if room:
        if spot and heights[spot - 1] == top:
            widths[spot - 1] += across
            widths[spot] = room
        else:
            heights.insert(spot, top)
            widths[spot] = room
            widths.insert(spot, across)
        return heights, widths
    if spot + 1 < len(heights) and heights[spot + 1] == top:
        widths[spot] += widths.pop(spot + 1)
        del heights[spot + 1]
    if spot and heights[spot - 1] == top:
        widths[spot - 1] += widths.pop(spot)
        del heights[spot]
    else:
        heights[spot] = top
    return heights, widths
