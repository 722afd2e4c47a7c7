"""The section drawing on paper, from the same geometry as on the page."""

from __future__ import annotations

from decaljobs.craft.drawings.section import (
    FILM_FILLS,
    MISSING_STROKE,
    WET_STROKE,
    Bar,
    Line,
    Role,
    Section,
    State,
    cross_lines,
    hatch_lines,
)
from decaljobs.pdf.letters import one_line
from decaljobs.pdf.pen import INK, QUIET, SOFT, Pen, Stroke

#: Room at the right of a labelled drawing that its longest words may take, mm.
_LABEL_GAP = 2.0


def draw_section(
    pen: Pen, section: Section, body_colour: str, x: float, y: float, scale: float
) -> None:
    """Draw a section with its top left corner at x, y (mm), scale mm to its unit.

    body_colour is '#rrggbb'; any other form raises ValueError.
    """
    for bar in section.shapes:
        _draw_bar(pen, bar, body_colour, x, y, scale)
    for label in section.labels:
        left = x + label.x * scale + _LABEL_GAP
        room = x + section.width * scale - left
        top = y + label.y * scale - QUIET.line_mm / 2
        pen.text(left, top, one_line(label.text, QUIET, room), QUIET)


def _draw_bar(pen: Pen, bar: Bar, body: str, x: float, y: float, scale: float) -> None:
    place = (x + bar.x * scale, y + bar.y * scale, bar.width * scale, bar.height * scale)
    if bar.role is Role.BODY:
        pen.rect(*place, fill=body, stroke=Stroke(SOFT, 0.1))
        return
    if bar.state in (State.LAID, State.WET):
        pen.rect(*place, fill=FILM_FILLS[bar.role], stroke=Stroke(INK, 0.2))
    if bar.solid is not None:
        _strokes(pen, hatch_lines(bar), Stroke(WET_STROKE, 0.3), x, y, scale)
    if bar.state in (State.TO_COME, State.MISSING):
        pen.rect(*place, stroke=Stroke(SOFT, 0.2, (0.9, 0.8)))
    if bar.state is State.MISSING:
        _strokes(pen, cross_lines(bar), Stroke(MISSING_STROKE, 0.6), x, y, scale)


def _strokes(
    pen: Pen, lines: tuple[Line, ...], stroke: Stroke, x: float, y: float, scale: float
) -> None:
    for line in lines:
        pen.line(
            x + line.x1 * scale,
            y + line.y1 * scale,
            x + line.x2 * scale,
            y + line.y2 * scale,
            stroke,
        )
