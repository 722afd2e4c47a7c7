"""The strip from which a maker reads how far their hand strays: ten cuts, ten pieces laid."""

from __future__ import annotations

from decaljobs.craft.units import paper
from decaljobs.pdf.flow import Block
from decaljobs.pdf.letters import lines
from decaljobs.pdf.page import SIDE, Running, body_width, paper_pdf
from decaljobs.pdf.pen import HEADING, INK, QUIET, SMALL, STRONG, TEXT, Pen, Stroke
from decaljobs.pdf.words import care_lines, draw_care

ROWS = 10
#: mm either side of a line that its hairlines reach, and between them.
REACH, PITCH = 1.0, 0.25
LINE, SQUARE = 80.0, 6.0

KNIFE = (
    "Print on the film you use, at 100 %. With a new blade cut along each thick line by hand, as "
    "you would cut a decal. Read with a glass how far the cut lies from the thick line: the thin "
    "lines stand 0.25 mm apart; above or left of it is minus. Write the offset in the box."
)
LAYING = (
    "Cut ten squares out on their lines, soak them and lay each on one of the crosses of a second "
    "print, to fill its corner marks. When dry, read how far each lies off, sideways and upwards."
)
CARE = (
    "The blade is sharp: cut away from the hand that holds. Setting fluid gives off vapour. "
    "Follow the products' safety data sheets and local rules."
)


def test_strip_pdf() -> bytes:
    """The strip on A4; its size is shown by the ruler at the foot."""
    sheet = paper("A4")
    width = body_width(sheet)
    blocks = [
        _care(width),
        _words("Ten cuts", KNIFE, width),
        *(_cut_row(number) for number in range(1, ROWS + 1)),
        _words("Ten pieces laid", LAYING, width),
        *(_laid_row(start) for start in (1, 6)),
    ]
    running = Running("Test strip", "How far a hand strays", "", "ten offsets make a spread")
    return paper_pdf(blocks, sheet, running)


def _care(width: float) -> Block:
    care = care_lines(CARE, width, 3)

    def draw(pen: Pen, top: float) -> None:
        draw_care(pen, SIDE, top, care)

    return Block(len(care) * SMALL.line_mm, draw)


def _words(title: str, text: str, width: float) -> Block:
    told = lines(text, TEXT, width)
    head = HEADING.line_mm + 1.5

    def draw(pen: Pen, top: float) -> None:
        pen.text(SIDE, top, title, HEADING)
        pen.lines(SIDE, top + head, told, TEXT)

    return Block(head + len(told) * TEXT.line_mm + 3.0, draw, with_next=True, gap=4.0)


def _cut_row(number: int) -> Block:
    def draw(pen: Pen, top: float) -> None:
        pen.text(SIDE, top + 1.5, str(number), STRONG)
        left = SIDE + 8.0
        _scale(pen, left, top + 4.0, LINE)
        pen.rect(left + LINE + 8.0, top, 30.0, 8.0, stroke=Stroke(INK, 0.15))
        pen.text(left + LINE + 40.0, top + 2.0, "mm off", QUIET)

    return Block(10.5, draw)


def _scale(pen: Pen, left: float, middle: float, length: float) -> None:
    """A thick line with thin ones beside it, PITCH apart, at both ends of it only."""
    pen.line(left, middle, left + length, middle, Stroke(INK, 0.3))
    for step in range(-round(REACH / PITCH), round(REACH / PITCH) + 1):
        if step == 0:
            continue
        y = middle + step * PITCH
        for start in (left, left + length / 2 - 5.0, left + length - 10.0):
            pen.line(start, y, start + 10.0, y, Stroke(INK, 0.06))


def _laid_row(first: int) -> Block:
    def draw(pen: Pen, top: float) -> None:
        for place in range(5):
            left = SIDE + place * 35.0
            pen.text(left, top, str(first + place), STRONG)
            _cross(pen, left + 8.0, top + 2.0)
            pen.rect(left + 18.0, top + 2.0, 14.0, SQUARE, stroke=Stroke(INK, 0.15))
            pen.text(left + 18.0, top + 9.0, "across, up", SMALL)

    return Block(15.0, draw)


def _cross(pen: Pen, left: float, top: float) -> None:
    """A square to cut out or to lay on, with marks 0.25 mm apart beyond its corners."""
    pen.rect(left, top, SQUARE, SQUARE, stroke=Stroke(INK, 0.1))
    for step in range(1, 5):
        away = step * PITCH
        pen.line(left - away, top - 1.0, left - away, top + 1.0, Stroke(INK, 0.06))
        pen.line(left - 1.0, top - away, left + 1.0, top - away, Stroke(INK, 0.06))
