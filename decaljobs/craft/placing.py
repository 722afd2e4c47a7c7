"""Where decals sit on a panel of the model: edges, overlaps, what hangs over. Lengths in mm.

A place is measured from the panel's lower left corner, x to the right and y upwards; a turn
is in degrees, anticlockwise. A decal counts as the rectangle of its visible art.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from math import cos, isfinite, radians, sin
from operator import attrgetter

from shapely import STRtree
from shapely.geometry import LineString, Polygon

from decaljobs.craft.units import check_sizes
from decaljobs.craft.ways import PLAIN, Ways

#: The sides of a panel that are taken for meant, mm (our own bounds).
SMALLEST_PANEL_MM, LARGEST_PANEL_MM = 1, 2000
#: What lies over an edge or another decal by less is not told of, mm: finer than a hand lays
#: (common practice, no source).
LEAST_TOLD_MM = 0.05

Point = tuple[float, float]


@dataclass(frozen=True)
class Panel:
    """A flat part of the model by its width and height, mm, each 1 to 2000.

    Raises ValueError with the range for any other size.
    """

    width_mm: float
    height_mm: float

    def __post_init__(self) -> None:
        for side in (self.width_mm, self.height_mm):
            if not SMALLEST_PANEL_MM <= side <= LARGEST_PANEL_MM:
                raise ValueError(
                    f"A panel is {SMALLEST_PANEL_MM} to {LARGEST_PANEL_MM} mm wide and high."
                )


@dataclass(frozen=True)
class Placed:
    """A decal of a size, mm, with its centre at x, y, mm, turned by degrees anticlockwise.

    Raises ValueError for a size of 0 mm or less, or a place or turn that is no number.
    """

    name: str
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    turn: float = 0.0

    def __post_init__(self) -> None:
        if not all(isfinite(value) for value in (self.x_mm, self.y_mm, self.turn)):
            raise ValueError("A place and a turn are numbers.")
        check_sizes("A decal's sides", self.width_mm, self.height_mm)

    @property
    def corners(self) -> tuple[Point, Point, Point, Point]:
        """The corners, mm: of an unturned decal lower left first, then anticlockwise.

        >>> Placed("tail", 10, 5, 4, 2).corners
        ((8.0, 4.0), (12.0, 4.0), (12.0, 6.0), (8.0, 6.0))
        """
        across, up = cos(radians(self.turn)), sin(radians(self.turn))
        half, high = self.width_mm / 2, self.height_mm / 2
        around = ((-half, -high), (half, -high), (half, high), (-half, high))
        first, second, third, fourth = (
            (self.x_mm + dx * across - dy * up, self.y_mm + dx * up + dy * across)
            for dx, dy in around
        )
        return first, second, third, fourth


@dataclass(frozen=True)
class Distances:
    """How far a decal stays from the panel's edges, mm; below 0 where it hangs over."""

    left: float
    right: float
    below: float
    above: float


@dataclass(frozen=True)
class Overhang:
    """A decal that reaches over an edge ('left', 'right', 'lower', 'upper') by mm."""

    decal: str
    edge: str
    by_mm: float

    @property
    def words(self) -> str:
        """In a sentence with mm."""
        return self.said(PLAIN)

    def said(self, ways: Ways) -> str:
        """In a sentence with the length as the reader wants it."""
        return f"{self.decal} hangs over the {self.edge} edge by {ways.length(self.by_mm)}."


@dataclass(frozen=True)
class Overlap:
    """Two decals of which the rectangles overlap; moved apart by mm they only touch."""

    one: str
    other: str
    by_mm: float

    @property
    def words(self) -> str:
        """In a sentence with mm."""
        return self.said(PLAIN)

    def said(self, ways: Ways) -> str:
        """In a sentence with the length as the reader wants it."""
        return f"{self.one} and {self.other} overlap by {ways.length(self.by_mm)}."


@dataclass(frozen=True)
class Measure:
    """A line of measure between two places of a panel, level or upright, and its length, mm."""

    start: Point
    end: Point
    length: float


def distances(panel: Panel, placed: Placed) -> Distances:
    """How far a decal's outermost corners stay from the panel's edges, mm.

    >>> distances(Panel(60, 20), Placed("board", 15, 10, 20, 6))
    Distances(left=5.0, right=35.0, below=7.0, above=7.0)
    >>> round(distances(Panel(60, 40), Placed("board", 15, 15, 20, 6, turn=90)).below, 9)
    5.0
    """
    across, up = zip(*placed.corners, strict=True)
    return Distances(min(across), panel.width_mm - max(across), min(up), panel.height_mm - max(up))


def overhangs(panel: Panel, placed: Sequence[Placed]) -> Iterator[Overhang]:
    """Each edge that a decal reaches over by 0.05 mm or more, in mm.

    >>> [told.words for told in overhangs(Panel(60, 20), [Placed("board", 9, 10, 20, 6)])]
    ['board hangs over the left edge by 1.0\\xa0mm.']
    """
    for one in placed:
        free = distances(panel, one)
        edges = {"left": free.left, "right": free.right, "lower": free.below, "upper": free.above}
        for edge, distance in edges.items():
            if distance <= -LEAST_TOLD_MM:
                yield Overhang(one.name, edge, -distance)


def overlaps(placed: Sequence[Placed]) -> Iterator[Overlap]:
    """Each pair of decals whose rectangles overlap by 0.05 mm or more.

    >>> pair = [Placed("star", 5, 5, 4, 4), Placed("ring", 8, 5, 4, 4)]
    >>> [told.words for told in overlaps(pair)]
    ['star and ring overlap by 1.0\\xa0mm.']
    """
    if len(placed) < 2:
        return
    shapes = [Polygon(one.corners) for one in placed]
    met = STRtree(shapes).query(shapes, predicate="intersects").T.tolist()
    for first, second in sorted(pair for pair in met if pair[0] < pair[1]):
        one, other = placed[first], placed[second]
        depth = _depth(one, other)
        if depth >= LEAST_TOLD_MM:
            yield Overlap(one.name, other.name, depth)


def _depth(one: Placed, other: Placed) -> float:
    """The shortest way, mm, by which two rectangles part; below 0 where they are apart.

    Of convex shapes it is square to a side of either of them (separating axis theorem).
    """
    depths = []
    for turn in (one.turn, one.turn + 90, other.turn, other.turn + 90):
        (low, high), (its_low, its_high) = _reach(one, turn), _reach(other, turn)
        depths.append(min(high - its_low, its_high - low))
    return min(depths)


def _reach(placed: Placed, turn: float) -> tuple[float, float]:
    """From where to where a decal reaches along a direction, mm."""
    along = [x * cos(radians(turn)) + y * sin(radians(turn)) for x, y in placed.corners]
    return min(along), max(along)


def measures(panel: Panel, placed: Sequence[Placed], least: float = 0.0) -> Iterator[Measure]:
    """For each decal a level and an upright line of measure from an edge of the panel, mm.

    From the nearer edge, or from the other where another decal lies in the way; none where both
    ways are barred or shorter than least, mm.

    >>> pair = [Placed("star", 9, 9, 4, 4), Placed("ring", 19, 9, 4, 4)]
    >>> [line.length for line in measures(Panel(60, 24), pair, least=5)]
    [7.0, 7.0, 39.0, 7.0]
    """
    tree = STRtree([Polygon(one.corners) for one in placed])
    for number, one in enumerate(placed):
        for lines in _to_edges(panel, one):
            free = (
                line
                for line in lines
                if line.length >= least and not _is_barred(line, tree, number)
            )
            yield from islice(free, 1)


def _to_edges(panel: Panel, one: Placed) -> tuple[list[Measure], list[Measure]]:
    """The level and the upright lines to a decal from both edges, the nearer first."""
    free, wide, high = distances(panel, one), panel.width_mm, panel.height_mm
    level = [
        Measure((0.0, one.y_mm), (free.left, one.y_mm), free.left),
        Measure((wide, one.y_mm), (wide - free.right, one.y_mm), free.right),
    ]
    upright = [
        Measure((one.x_mm, 0.0), (one.x_mm, free.below), free.below),
        Measure((one.x_mm, high), (one.x_mm, high - free.above), free.above),
    ]
    length = attrgetter("length")
    return sorted(level, key=length), sorted(upright, key=length)


def _is_barred(line: Measure, decals: STRtree, own: int) -> bool:
    """Whether a decal other than the line's own lies in its way."""
    met = decals.query(LineString([line.start, line.end]), predicate="intersects")
    return bool((met != own).any())


def warnings_of(panel: Panel, placed: Sequence[Placed], ways: Ways = PLAIN) -> tuple[str, ...]:
    """All that is wrong on a panel, in sentences with lengths as the reader wants them.

    >>> warnings_of(Panel(60, 20), [Placed("board", 15, 10, 20, 6)])
    ()
    """
    told: list[Overhang | Overlap] = [*overhangs(panel, placed), *overlaps(placed)]
    return tuple(one.said(ways) for one in told)
