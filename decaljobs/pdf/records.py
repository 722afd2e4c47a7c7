"""The records on paper: the same charts and tables as on the page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from decaljobs.craft.drawings.drawn import Drawn
from decaljobs.craft.records.record_charts import Look
from decaljobs.craft.records.record_section import RecordSection
from decaljobs.craft.units import Paper
from decaljobs.pdf.drawn import Looks, draw_drawn
from decaljobs.pdf.flow import Block
from decaljobs.pdf.letters import Type
from decaljobs.pdf.letters import lines as wrapped
from decaljobs.pdf.page import SIDE, Running, body_height, body_width, paper_pdf
from decaljobs.pdf.pen import (
    HAIR,
    HAIRLINE,
    HEADING,
    INK,
    QUIET,
    SMALL,
    SOFT,
    TEXT,
    TITLE,
    Pen,
    Stroke,
)
from decaljobs.pdf.words import words_block

#: mm to a unit of a chart, and white space.
SCALE, PAD, BETWEEN = 0.28, 1.4, 6.0
#: Share of the width for the first column of a table, and lines that a cell may take.
FIRST, MOST_LINES = 0.34, 3
LOOKS = Looks(
    fills={Look.RANGE: "#cfd8d6", Look.SHARE: INK, Look.BAR: "#55777d"},
    rims={Look.ASKED: Stroke(SOFT, 0.2), Look.RANGE: Stroke(SOFT, 0.1)},
    strokes={
        Look.GRID: Stroke(HAIR, 0.1),
        Look.FRAME: Stroke(SOFT, 0.2),
        Look.LINE: Stroke(INK, 0.3),
    },
    types={Look.NAME: SMALL, Look.LABEL: QUIET},
)


def records_pdf(sections: Sequence[RecordSection], paper: Paper, *, title: str, foot: str) -> bytes:
    """Sections one below the other, each a chart and its table; foot is said on each page."""
    blocks = [words_block([title], TITLE, with_next=True)]
    blocks += [block for section in sections for block in _section(section, paper)]
    return paper_pdf(blocks, paper, Running("Records", title, "", foot))


def _section(section: RecordSection, paper: Paper) -> Iterator[Block]:
    width = body_width(paper)
    yield words_block([section.title], HEADING, gap=BETWEEN, with_next=True)
    if section.note:
        yield words_block(wrapped(section.note, QUIET, width), QUIET, gap=PAD, with_next=True)
    if not section.rows:
        yield words_block(wrapped(section.empty, TEXT, width), TEXT, gap=PAD)
        return
    if section.chart and section.chart.height * SCALE <= body_height(paper):
        yield _chart(section.chart)
    head = _row(section.headings, QUIET, width)
    yield head
    for row in section.rows:
        yield _row(row, SMALL, width, again=head)


def _chart(chart: Drawn) -> Block:
    def draw(pen: Pen, top: float) -> None:
        draw_drawn(pen, chart, LOOKS, SIDE, top, SCALE)

    return Block(chart.height * SCALE, draw, gap=2 * PAD, with_next=True)


def _row(cells: Sequence[str], style: Type, width: float, *, again: Block | None = None) -> Block:
    """One line of a table, its cells as high as the highest."""
    widths = _widths(len(cells), width)
    told = [
        wrapped(cell, style, room - 2 * PAD, MOST_LINES)
        for cell, room in zip(cells, widths, strict=True)
    ]

    def draw(pen: Pen, top: float) -> None:
        pen.line(SIDE, top, SIDE + width, top, HAIRLINE)
        left = SIDE
        for lines, room in zip(told, widths, strict=True):
            pen.lines(left, top + PAD, lines, style)
            left += room

    height = max(map(len, told)) * style.line_mm + 2 * PAD
    return Block(height, draw, with_next=again is None, again=again)


def _widths(columns: int, width: float) -> list[float]:
    """The first column is wide, the others share what is left."""
    first = width * FIRST
    return [first, *[(width - first) / (columns - 1)] * (columns - 1)]
