"""A drawing on paper, from the same geometry as on the page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from decaljobs.craft.drawings.drawn import Drawn
from decaljobs.pdf.letters import Type, one_line
from decaljobs.pdf.pen import BASELINE, Pen, Stroke

ALIGN = {"start": "left", "middle": "middle", "end": "right"}
#: Words of a drawing are never broken, mm.
ENDLESS = 1000.0


@dataclass(frozen=True)
class Looks:
    """How each look is drawn on paper: fills of areas, their rims, strokes of lines, types."""

    fills: Mapping[str, str]
    strokes: Mapping[str, Stroke]
    types: Mapping[str, Type]
    rims: Mapping[str, Stroke] = field(default_factory=dict)


def draw_drawn(pen: Pen, drawn: Drawn, looks: Looks, x: float, y: float, scale: float) -> None:
    """Draw with the top left corner at x, y (mm), scale mm to a unit."""
    for area in drawn.areas:
        left, top = x + area.x * scale, y + area.y * scale
        fill, rim = looks.fills.get(area.look), looks.rims.get(area.look)
        pen.rect(left, top, area.width * scale, area.height * scale, fill=fill, stroke=rim)
    for trace in drawn.traces:
        points = [(x + px * scale, y + py * scale) for px, py in trace.points]
        pen.path(points, looks.strokes[trace.look])
    for words in drawn.words:
        style = looks.types[words.look]
        top = y + words.y * scale - style.line_mm * BASELINE
        left, align = x + words.x * scale, ALIGN[words.align]
        pen.text(left, top, one_line(words.text, style, ENDLESS), style, align=align)
