"""The slip that lies with a sheet of film: its code to scan, and what is on it. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterator

from decaljobs.craft.paper.sheetslip import SheetSlip
from decaljobs.craft.units import paper as paper_called
from decaljobs.pdf.flow import Block
from decaljobs.pdf.letters import lines
from decaljobs.pdf.page import SIDE, Running, body_width, paper_pdf
from decaljobs.pdf.pen import HAIRLINE, QUIET, TEXT, TITLE, Pen
from decaljobs.pdf.qr import QUIET_MODULES, draw_qr, modules

#: mm
QR, PAD, COPIES = 30.0, 1.5, 30.0
_MOST_FACTS, _MOST_LINES = 6, 2


def sheet_slip_pdf(slip: SheetSlip, *, paper: str = "A4") -> bytes:
    """The slip as a PDF on A4 or Letter. Raises ValueError for another paper."""
    size = paper_called(paper)
    width = body_width(size)
    blocks = [_head(slip, width), *(_row(words, good, width) for words, good in slip.pieces)]
    blocks += _note(width)
    return paper_pdf(blocks, size, Running("Sheet slip", slip.code, slip.code, slip.written))


def _head(slip: SheetSlip, width: float) -> Block:
    quiet = QR / len(modules(slip.address)) * QUIET_MODULES
    room = width - QR - 2 * quiet
    facts = [line for fact in slip.facts[:_MOST_FACTS] for line in lines(fact, TEXT, room, 2)]
    said = TITLE.line_mm + PAD + len(facts) * TEXT.line_mm

    def draw(pen: Pen, top: float) -> None:
        draw_qr(pen, slip.address, SIDE + width - QR, top + quiet, QR)
        pen.text(SIDE, top, f"Sheet {slip.code}", TITLE)
        pen.lines(SIDE, top + TITLE.line_mm + PAD, facts, TEXT)

    return Block(max(said, QR + 2 * quiet), draw, with_next=bool(slip.pieces))


def _row(words: str, good: int, width: float) -> Block:
    said = lines(words, TEXT, width - COPIES, _MOST_LINES)

    def draw(pen: Pen, top: float) -> None:
        pen.line(SIDE, top, SIDE + width, top, HAIRLINE)
        pen.lines(SIDE, top + PAD, said, TEXT)
        pen.text(SIDE + width, top + PAD, f"{good} good", TEXT, align="right")

    return Block(len(said) * TEXT.line_mm + 2 * PAD, draw)


def _note(width: float) -> Iterator[Block]:
    told = lines(
        "Keep this slip with the film, flat, dark and dry. Scan the code, or type the sheet's code "
        "in the search, to open its page.",
        QUIET,
        width,
    )

    def draw(pen: Pen, top: float) -> None:
        pen.line(SIDE, top, SIDE + width, top, HAIRLINE)
        pen.lines(SIDE, top + PAD, told, QUIET)

    yield Block(len(told) * QUIET.line_mm + 2 * PAD, draw)
