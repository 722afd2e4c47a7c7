"""A pen that draws in millimetres from the top left corner of the paper."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from reportlab.lib.colors import HexColor
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from decaljobs.craft.colour import format_hex, parse_hex
from decaljobs.craft.units import POINTS_PER_MM, Paper
from decaljobs.pdf.letters import BOLD, PLAIN, Type, width_mm

INK, SOFT, HAIR, CARE = "#1e2930", "#55626b", "#c9c6bd", "#8a2d1f"

TITLE = Type(BOLD, 22, 26, INK)
HEADING = Type(BOLD, 12.5, 15.5, INK)
STRONG = Type(BOLD, 9.5, 12, INK)
TEXT = Type(PLAIN, 9.5, 12.5, INK)
SMALL = Type(PLAIN, 8, 10.4, INK)
QUIET = Type(PLAIN, 8, 10.4, SOFT)
TINY = Type(PLAIN, 7, 9, SOFT)
WARN = Type(BOLD, 8, 10.4, CARE)

#: Where the foot of a letter stands in its line, as a share of the line distance.
BASELINE = 0.76


@dataclass(frozen=True)
class Stroke:
    """A line's colour '#rrggbb', its width in mm and its dashes in mm (none: unbroken)."""

    colour: str = INK
    width: float = 0.2
    dashes: tuple[float, ...] = ()


HAIRLINE = Stroke(HAIR, 0.15)


def colour_of(text: str) -> HexColor:
    """A colour of the paper from '#rrggbb'; raises ValueError for any other form.

    reportlab's own parser takes names and expressions, and so much is never let in.
    """
    return HexColor(format_hex(parse_hex(text)))


class Pen:
    """Draws on one canvas of one paper size, all places and sizes in mm."""

    def __init__(self, canvas: Canvas, paper: Paper) -> None:
        self.canvas = canvas
        self.paper = paper

    def text(self, x: float, top: float, line: str, style: Type, *, align: str = "left") -> None:
        """One line, its own top at top; align says which point of it lies at x."""
        self.canvas.setFont(style.font, style.size)
        self.canvas.setFillColor(colour_of(style.colour))
        at = x - {"left": 0.0, "middle": 0.5, "right": 1.0}[align] * width_mm(line, style)
        self.canvas.drawString(at * POINTS_PER_MM, self._up(top + style.line_mm * BASELINE), line)

    def width(self, line: str, style: Type) -> float:
        """The width of a line, mm."""
        return width_mm(line, style)

    def lines(self, x: float, top: float, lines: Sequence[str], style: Type) -> float:
        """Several lines from a top downwards; answers where the next thing may start."""
        for line in lines:
            self.text(x, top, line, style)
            top += style.line_mm
        return top

    def line(self, x1: float, y1: float, x2: float, y2: float, stroke: Stroke = HAIRLINE) -> None:
        """A straight line."""
        self._stroke(stroke)
        self.canvas.line(x1 * POINTS_PER_MM, self._up(y1), x2 * POINTS_PER_MM, self._up(y2))

    def path(self, places: Sequence[tuple[float, float]], stroke: Stroke = HAIRLINE) -> None:
        """One line through places, its dashes running on round the corners."""
        self._stroke(stroke)
        path = self.canvas.beginPath()
        for number, (x, y) in enumerate(places):
            go = path.lineTo if number else path.moveTo
            go(x * POINTS_PER_MM, self._up(y))
        self.canvas.drawPath(path, stroke=1, fill=0)

    def rect(
        self,
        x: float,
        top: float,
        width: float,
        height: float,
        *,
        fill: str | None = None,
        stroke: Stroke | None = None,
    ) -> None:
        """A rectangle, filled, outlined or both."""
        if fill is not None:
            self.canvas.setFillColor(colour_of(fill))
        if stroke is not None:
            self._stroke(stroke)
        self.canvas.rect(
            x * POINTS_PER_MM,
            self._up(top + height),
            width * POINTS_PER_MM,
            height * POINTS_PER_MM,
            stroke=int(stroke is not None),
            fill=int(fill is not None),
        )

    def picture(
        self, x: float, top: float, width: float, height: float, picture: ImageReader
    ) -> None:
        """A picture stretched to the rectangle, see-through where it is."""
        self.canvas.drawImage(
            picture,
            x * POINTS_PER_MM,
            self._up(top + height),
            width * POINTS_PER_MM,
            height * POINTS_PER_MM,
            mask="auto",
        )

    @contextmanager
    def within(self, x: float, top: float, width: float, height: float) -> Iterator[None]:
        """What is drawn in here shows inside the rectangle alone."""
        self.canvas.saveState()
        window = self.canvas.beginPath()
        window.rect(
            x * POINTS_PER_MM,
            self._up(top + height),
            width * POINTS_PER_MM,
            height * POINTS_PER_MM,
        )
        self.canvas.clipPath(window, stroke=0, fill=0)
        try:
            yield
        finally:
            self.canvas.restoreState()

    def _up(self, y: float) -> float:
        return (self.paper.height_mm - y) * POINTS_PER_MM

    def _stroke(self, stroke: Stroke) -> None:
        self.canvas.setStrokeColor(colour_of(stroke.colour))
        self.canvas.setLineWidth(stroke.width * POINTS_PER_MM)
        self.canvas.setDash([dash * POINTS_PER_MM for dash in stroke.dashes])
