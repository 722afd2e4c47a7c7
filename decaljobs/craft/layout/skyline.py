"""The upper edge of what is laid: segments from left to right, each with a height and a width."""

from __future__ import annotations

from typing import NamedTuple


class Skyline(NamedTuple):
    """Heights and widths in grains, and the kind of piece that made each segment (NOBODY: none)."""

    heights: list[int]
    widths: list[int]
    owners: list[int]


NOBODY = -1


def laid(line: Skyline, spot: int, across: int, top: int, owner: int = NOBODY) -> Skyline:
    """The skyline after a piece `across` wide is laid at the left end of segment `spot`.

    Neighbours of equal height become one segment, owned by the latest piece.

    >>> laid(Skyline([0, 5], [10, 4], [NOBODY, 7]), 0, 6, 5, 3)
    Skyline(heights=[5, 0, 5], widths=[6, 4, 4], owners=[3, -1, 7])
    >>> laid(Skyline([5, 0, 5], [6, 4, 4], [3, -1, 7]), 1, 4, 5, 8)
    Skyline(heights=[5], widths=[14], owners=[8])
    """
    heights, widths, owners = line[0][:], line[1][:], line[2][:]
    room = widths[spot] - across
    if room:
        _lay_beside(heights, widths, owners, spot, across, top, owner)
        return Skyline(heights, widths, owners)
    owners[spot] = owner
    if spot + 1 < len(heights) and heights[spot + 1] == top:
        widths[spot] += widths.pop(spot + 1)
        del heights[spot + 1], owners[spot + 1]
    heights[spot] = top
    if spot and heights[spot - 1] == top:
        widths[spot - 1] += widths.pop(spot)
        del heights[spot], owners[spot - 1]
    return Skyline(heights, widths, owners)


def _lay_beside(
    heights: list[int],
    widths: list[int],
    owners: list[int],
    spot: int,
    across: int,
    top: int,
    owner: int,
) -> None:
    """Split segment `spot`: the piece left, what is left of the gap right."""
    widths[spot] -= across
    if spot and heights[spot - 1] == top:
        widths[spot - 1] += across
        owners[spot - 1] = owner
    else:
        heights.insert(spot, top)
        widths.insert(spot, across)
        owners.insert(spot, owner)
