"""The drying chart on paper, from the same geometry as on the page."""

from __future__ import annotations

from dataclasses import dataclass

from decaljobs.craft.drawings.drawn import Drawn
from decaljobs.craft.units import Paper
from decaljobs.craft.waiting.chart_drawing import Look
from decaljobs.pdf.drawn import Looks, draw_drawn
from decaljobs.pdf.flow import Block
from decaljobs.pdf.letters import lines
from decaljobs.pdf.page import SIDE, Running, body_width, paper_pdf
from decaljobs.pdf.pen import CARE, HAIR, HEADING, INK, QUIET, SOFT, TEXT, Pen, Stroke
from decaljobs.pdf.words import words_block

STILL_FILL = "#e4ddd0"
STROKES = {
    Look.GRID: Stroke(HAIR, 0.1),
    Look.FRAME: Stroke(SOFT, 0.2),
    Look.LIMIT: Stroke(CARE, 0.25, (1.4, 1.0)),
    Look.NOW: Stroke(INK, 0.3),
    Look.READ: Stroke(INK, 0.35),
    Look.EXPECTED: Stroke(INK, 0.3, (0.9, 0.8)),
}
LOOKS = Looks(
    fills={Look.STILL: STILL_FILL},
    strokes=STROKES,
    types={Look.TITLE: TEXT.sized(9), Look.LABEL: QUIET},
)


@dataclass(frozen=True)
class ChartSheet:
    """What a drying chart's paper says: the room, the wait it is drawn for, and when."""

    room: str
    air: str
    wait: str
    printed_at: str
    chart: Drawn


def drying_chart_pdf(sheet: ChartSheet, paper: Paper) -> bytes:
    """The chart of a room on one sheet of paper."""
    width = body_width(paper)
    said = lines(f"{sheet.air} {sheet.chart.sentence}", TEXT, width)
    key = lines("Shaded: drying stands still. Dashed: expected, not read.", QUIET, width)
    blocks = [
        words_block([f"{sheet.room}: {sheet.wait}"], HEADING),
        words_block(said, TEXT, gap=2.0),
        Block(
            sheet.chart.height * width / sheet.chart.width,
            lambda pen, top: draw_air_chart(pen, sheet.chart, SIDE, top, width / sheet.chart.width),
            gap=4.0,
        ),
        words_block(key, QUIET, gap=2.0),
    ]
    running = Running("Drying", sheet.room, "", f"printed {sheet.printed_at}")
    return paper_pdf(blocks, paper, running)


def draw_air_chart(pen: Pen, chart: Drawn, x: float, y: float, scale: float) -> None:
    """Draw a chart with its top left corner at x, y (mm), scale mm to its unit."""
    draw_drawn(pen, chart, LOOKS, x, y, scale)
