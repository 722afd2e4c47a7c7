"""A colour trial's round on paper or film: patches, marks, ramp, paint place and code.

It stands in the upper half of the page, so that the other half can be cut off and used.
"""

from __future__ import annotations

from decaljobs.craft.colour import format_hex
from decaljobs.craft.paper.roundpaper import RoundPaper
from decaljobs.craft.trial.sheet import (
    DOT,
    FRAME_WIDTH,
    MARK_HOLE,
    RAMP,
    RAMP_SIZE,
    Box,
    SheetPlaces,
    TrialSheet,
)
from decaljobs.craft.units import POINTS_PER_MM
from decaljobs.craft.units import paper as paper_called
from decaljobs.pdf.flow import Block
from decaljobs.pdf.letters import lines, one_line
from decaljobs.pdf.page import Running, paper_pdf
from decaljobs.pdf.pen import HAIRLINE, STRONG, TEXT, TINY, Pen, colour_of
from decaljobs.pdf.qr import draw_qr

#: Full ink of the marks, the bare paper in their holes, and the dots of the paint place.
BLACK, WHITE, DOT_GREY = "#000000", "#ffffff", "#5a5a5a"
#: Where the words between the two upper marks stand, and their room, mm.
_WORDS_X, _WORDS_ROOM = 33.0, 92.0
#: Below the sheet, what to do with it.
_PAPER_STEPS = (
    "Print at 100 %, with the same driver settings every round. Let the sheet dry before judging.",
    "Judge at an overcast window or under a D50 lamp, out of direct sun, the gloss turned away.",
    "By eye: hold the painted part beside the patches, note the best three, best first, and how "
    "the best is off (lighter, darker, redder, greener, yellower, bluer, stronger, weaker).",
    "By photo: lay the painted part flat on the dots, at least 20 x 20 mm of one colour and no "
    "lamp or window mirrored in it; take the whole sheet with all five square marks from straight "
    "above, without flash.",
)
_FILM_STEPS = (
    "A strip on film: the film shifts the colour, so only a strip is final, and a second one makes "
    "it surer. Judge it when dry, laid on the surface that it will lie on.",
    "In a laser printer the fuser is hot: never feed a sheet with film cut away, and a part-used "
    "one only if the film's maker allows it.",
)


def round_sheet_pdf(round_paper: RoundPaper, *, paper: str = "A4") -> bytes:
    """The round's sheet as a PDF on A4 or Letter, lengths as printed at 100 %.

    The same round makes the same bytes. Raises ValueError for another paper.
    """
    size = paper_called(paper)
    left = (size.width_mm - FRAME_WIDTH) / 2
    blocks = [_sheet_block(round_paper, left), _steps_block(round_paper, left)]
    code = str(round_paper.sheet.code)
    foot = f"printed {round_paper.printed_at}" if round_paper.printed_at else ""
    return paper_pdf(blocks, size, Running("Colour trial", round_paper.title, code, foot))


def _sheet_block(round_paper: RoundPaper, left: float) -> Block:
    sheet = round_paper.sheet

    def draw(pen: Pen, top: float) -> None:
        _draw_words(pen, round_paper, left, top)
        _draw_marks(pen, sheet.layout, left, top)
        _draw_patches(pen, sheet, left, top)
        _draw_ramp(pen, sheet.layout, left, top)
        _draw_paint_place(pen, sheet.layout, left, top)
        _draw_code(pen, sheet, left, top)
        qr = sheet.layout.qr
        draw_qr(pen, round_paper.address, left + qr.x, top + qr.y, qr.width)

    return Block(sheet.layout.height, draw)


def _steps_block(round_paper: RoundPaper, left: float) -> Block:
    said = [
        lines(step, TEXT, FRAME_WIDTH)
        for step in (*(_FILM_STEPS if round_paper.on_film else ()), *_PAPER_STEPS)
    ]
    height = sum(len(step) * TEXT.line_mm + 1.2 for step in said)

    def draw(pen: Pen, top: float) -> None:
        for step in said:
            top = pen.lines(left, top, step, TEXT) + 1.2

    return Block(height, draw, gap=6.0)


def _draw_words(pen: Pen, round_paper: RoundPaper, left: float, top: float) -> None:
    code = f"{round_paper.sheet.code} · "
    x = left + _WORDS_X
    pen.text(x, top + 0.4, code, STRONG)
    room = _WORDS_ROOM - pen.width(code, STRONG)
    title = one_line(round_paper.title, STRONG, room)
    pen.text(x + pen.width(code, STRONG), top + 0.4, title, STRONG)
    pen.text(x, top + 5.0, one_line(round_paper.settings, TINY, _WORDS_ROOM), TINY)


def _draw_marks(pen: Pen, layout: SheetPlaces, left: float, top: float) -> None:
    for box in (*layout.corners, layout.orientation):
        _fill(pen, box, left, top, BLACK)
        x, y = box.centre
        _disc(pen, left + x, top + y, MARK_HOLE, WHITE)
    for box in layout.inks:
        _fill(pen, box, left, top, BLACK)


def _draw_patches(pen: Pen, sheet: TrialSheet, left: float, top: float) -> None:
    for number, (box, rgb) in enumerate(
        zip(sheet.layout.patches, sheet.colours, strict=True), start=1
    ):
        _fill(pen, box, left, top, format_hex(rgb))
        middle, foot = left + box.x + box.width / 2, top + box.y + box.height + 0.4
        pen.text(middle, foot, str(number), STRONG, align="middle")


def _draw_ramp(pen: Pen, layout: SheetPlaces, left: float, top: float) -> None:
    for box, grey in zip(layout.ramp, RAMP, strict=True):
        _fill(pen, box, left, top, format_hex((grey, grey, grey)))
    for box in layout.papers:
        pen.rect(left + box.x, top + box.y, box.width, box.height, stroke=HAIRLINE)
    below = top + layout.ramp[0].y + RAMP_SIZE + 0.3
    pen.text(
        left + layout.ramp[0].x,
        below,
        "grey ramp; outlined: bare paper; black squares: for reflections in a photo",
        TINY,
    )


def _draw_paint_place(pen: Pen, layout: SheetPlaces, left: float, top: float) -> None:
    place = layout.paint
    pen.text(left + place.x, top + place.y - 3.8, "painted part on the dots, flat", TINY)
    pen.rect(left + place.x, top + place.y, place.width, place.height, stroke=HAIRLINE)
    for x, y in layout.dots:
        _disc(pen, left + x, top + y, DOT, DOT_GREY)


def _draw_code(pen: Pen, sheet: TrialSheet, left: float, top: float) -> None:
    """The code strip, neighbouring inked cells in one piece so that no seam shows."""
    start: Box | None = None
    cells = sheet.layout.code_cells
    for place, (bit, box) in enumerate(zip(sheet.bits, cells, strict=True)):
        start = start or (box if bit else None)
        last = place + 1 == len(cells) or not sheet.bits[place + 1]
        if start is not None and bit and last:
            width = box.x + box.width - start.x
            _fill(pen, Box(start.x, box.y, width, box.height), left, top, BLACK)
            start = None


def _fill(pen: Pen, box: Box, left: float, top: float, colour: str) -> None:
    pen.rect(left + box.x, top + box.y, box.width, box.height, fill=colour)


def _disc(pen: Pen, x: float, y: float, size: float, colour: str) -> None:
    pen.canvas.setFillColor(colour_of(colour))
    up = (pen.paper.height_mm - y) * POINTS_PER_MM
    pen.canvas.circle(x * POINTS_PER_MM, up, size / 2 * POINTS_PER_MM, stroke=0, fill=1)
