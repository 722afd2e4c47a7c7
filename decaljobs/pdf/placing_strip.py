"""One placing strip on paper at true size: outline, middles, decals, distances, joints. mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from string import ascii_uppercase as LETTERS

from decaljobs.craft.paper.jobcard import CardPanel
from decaljobs.craft.paper.paperstrip import PageDivision, PagePart
from decaljobs.craft.placing import Measure, Placed, measures
from decaljobs.pdf.pen import INK, QUIET, SMALL, SOFT, TINY, Pen, Stroke

#: White round a strip, in which the letters of its joints stand.
BESIDE = 5.0
OUTLINE = Stroke(INK, 0.25)
JOINT = Stroke(INK, 0.2, (3.0, 1.0))
MIDDLE = Stroke(SOFT, 0.1, (4.0, 1.0, 0.5, 1.0))
DECAL = Stroke(INK, 0.2)
MEASURE = Stroke(SOFT, 0.12)
#: Half the length of a cross at a decal's centre, of a joining mark, and of an arrow's head.
CROSS, MARK, HEAD = 1.5, 3.0, 0.8
#: A distance shorter than this is told in words alone: its figure would not fit.
LEAST_SHOWN = 7.0
#: Decals beyond this number are told in words alone: lines of measure would hide them.
MOST_MEASURED = 12

Place = tuple[float, float]


@dataclass(frozen=True)
class Strip:
    """One part of a panel as it lies on its page."""

    panel: CardPanel
    part: PagePart
    division: PageDivision

    @property
    def paper_width(self) -> float:
        return self.part.height if self.division.turned else self.part.width

    @property
    def paper_height(self) -> float:
        return self.part.width if self.division.turned else self.part.height

    def on_paper(self, x: float, y: float, place: Place) -> Place:
        """A place of the panel on the paper, the strip's upper left corner lying at place.

        Turned a quarter clockwise, what is right on the panel is below on the paper.
        """
        right, up = x - self.part.left, y - self.part.below
        if self.division.turned:
            return place[0] + up, place[1] + right
        return place[0] + right, place[1] + self.part.height - up


def draw_strip(pen: Pen, strip: Strip, left: float, top: float) -> None:
    """Draw a strip with its upper left corner at left, top."""
    at = (left, top)
    with pen.within(left, top, strip.paper_width, strip.paper_height):
        _draw_middles(pen, strip, at)
        for number, placed in enumerate(strip.panel.decals, start=1):
            _draw_decal(pen, strip, placed, number, at)
        if len(strip.panel.decals) <= MOST_MEASURED:
            for line in measures(strip.panel.panel, strip.panel.decals, LEAST_SHOWN):
                _draw_measure(pen, strip, line, at)
    _draw_edges(pen, strip, at)


def _line(pen: Pen, strip: Strip, ends: Sequence[Place], stroke: Stroke, at: Place) -> None:
    (x1, y1), (x2, y2) = (strip.on_paper(*end, at) for end in ends)
    pen.line(x1, y1, x2, y2, stroke)


def _draw_middles(pen: Pen, strip: Strip, at: Place) -> None:
    wide, high = strip.panel.panel.width_mm, strip.panel.panel.height_mm
    _line(pen, strip, [(wide / 2, 0), (wide / 2, high)], MIDDLE, at)
    _line(pen, strip, [(0, high / 2), (wide, high / 2)], MIDDLE, at)


def _draw_decal(pen: Pen, strip: Strip, placed: Placed, number: int, at: Place) -> None:
    corners = [strip.on_paper(*corner, at) for corner in placed.corners]
    pen.path([*corners, corners[0]], DECAL)
    x, y = strip.on_paper(placed.x_mm, placed.y_mm, at)
    pen.line(x - CROSS, y, x + CROSS, y, DECAL)
    pen.line(x, y - CROSS, x, y + CROSS, DECAL)
    pen.text(x + 0.6, y + 0.4, str(number), SMALL)


def _draw_measure(pen: Pen, strip: Strip, line: Measure, at: Place) -> None:
    """A line with a head at both ends and its length in mm in the middle."""
    (x1, y1), (x2, y2) = strip.on_paper(*line.start, at), strip.on_paper(*line.end, at)
    pen.line(x1, y1, x2, y2, MEASURE)
    level = abs(x2 - x1) > abs(y2 - y1)
    for x, y, side in ((x1, y1, 1), (x2, y2, -1)):
        along = side * HEAD * (1 if (x2 + y2) > (x1 + y1) else -1)
        for off in (-HEAD / 2, HEAD / 2):
            head = (x + along, y + off) if level else (x + off, y + along)
            pen.line(x, y, *head, MEASURE)
    words = f"{line.length:.1f}"
    x, y = (x1 + x2) / 2, (y1 + y2) / 2
    if level:
        pen.text(x, y - TINY.line_mm, words, TINY, align="middle")
    else:
        pen.text(x + 0.6, y - TINY.line_mm / 2, words, TINY)


def _draw_edges(pen: Pen, strip: Strip, at: Place) -> None:
    """The part's four edges: the panel's own outline, or joints with their marks and letters."""
    for ends, letter in _edges(strip):
        _line(pen, strip, ends, JOINT if letter else OUTLINE, at)
        if letter:
            _draw_joint(pen, strip, ends, letter, at)


def _edges(strip: Strip) -> Iterator[tuple[list[Place], str]]:
    """Each edge by its ends on the panel, with the letter of the joint that it is, or ''."""
    part, whole = strip.part, strip.division
    right, top = part.left + part.width, part.below + part.height
    yield [(part.left, part.below), (right, part.below)], _letter(whole, part, 0, -1)
    yield [(part.left, top), (right, top)], _letter(whole, part, 0, 1)
    yield [(part.left, part.below), (part.left, top)], _letter(whole, part, -1, 0)
    yield [(right, part.below), (right, top)], _letter(whole, part, 1, 0)


def _letter(whole: PageDivision, part: PagePart, across: int, up: int) -> str:
    """The name of the joint towards a neighbour, the same seen from both; '' at the outline."""
    column, row = part.column + across, part.row + up
    if not (1 <= column <= whole.columns and 1 <= row <= whole.rows):
        return ""
    first_column, first_row = min(part.column, column), min(part.row, row)
    upright = (whole.columns - 1) * whole.rows
    if across:
        return _name((first_row - 1) * (whole.columns - 1) + first_column - 1)
    return _name(upright + (first_row - 1) * whole.columns + first_column - 1)


def _name(number: int) -> str:
    """A, B ... Z, AA, AB ..."""
    rest, last = divmod(number, len(LETTERS))
    return (_name(rest - 1) if rest else "") + LETTERS[last]


def _draw_joint(pen: Pen, strip: Strip, ends: Sequence[Place], letter: str, at: Place) -> None:
    """Marks across the joint at a quarter and three quarters of it, half on either part."""
    (x1, y1), (x2, y2) = ends
    for share in (0.25, 0.75):
        x, y = x1 + (x2 - x1) * share, y1 + (y2 - y1) * share
        across = (MARK, 0.0) if x1 == x2 else (0.0, MARK)
        _line(
            pen, strip, [(x - across[0], y - across[1]), (x + across[0], y + across[1])], DECAL, at
        )
        letter_x, letter_y = strip.on_paper(x, y, at)
        pen.text(letter_x + 0.8, letter_y - QUIET.line_mm, letter, QUIET)
