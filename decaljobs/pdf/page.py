"""The head and foot that all papers share, and the writing of a paper. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

from decaljobs.craft.units import POINTS_PER_MM, Paper
from decaljobs.pdf.flow import Block, draw_page, paginate
from decaljobs.pdf.letters import one_line, printable
from decaljobs.pdf.pen import HAIRLINE, INK, QUIET, STRONG, TINY, Pen, Stroke

# Text-safe encoding is slow in plain Python: most of the time of a card with photographs.
rl_config.useA85 = 0

#: White round the page: more than the 4 to 6 mm that home printers cannot reach.
SIDE = 15.0
HEAD_TOP, BODY_TOP = 10.0, 21.0
FOOT_HEIGHT = 22.0
#: The length of the ruler that shows whether the printer kept the size.
RULER = 50.0
TRUE_SIZE = f"{RULER:.0f} mm if printed at 100 %"
#: The widest code in the head, so that the name beside it keeps room.
_CODE_ROOM = 60.0


@dataclass(frozen=True)
class Running:
    """What stands on every page: what paper it is, whose, its code, and a word at the foot."""

    kind: str
    title: str
    code: str
    foot: str


def body_width(paper: Paper) -> float:
    """The width between the margins, mm.

    >>> from decaljobs.craft.units import paper
    >>> body_width(paper("A4"))
    180.0
    """
    return paper.width_mm - 2 * SIDE


def body_height(paper: Paper) -> float:
    """The height between head and foot, mm.

    >>> from decaljobs.craft.units import paper
    >>> body_height(paper("A4"))
    254.0
    """
    return paper.height_mm - BODY_TOP - FOOT_HEIGHT


def paper_pdf(blocks: Sequence[Block], paper: Paper, running: Running) -> bytes:
    """The blocks as a PDF with the shared head and foot on each page.

    The same blocks make the same bytes: the file carries no date of its own.
    """
    target = BytesIO()
    canvas = new_canvas(target, paper, f"{running.kind} {running.code}")
    canvas.setSubject(printable(running.title))
    pen = Pen(canvas, paper)
    pages = paginate(blocks, body_height(paper))
    for number, page in enumerate(pages, start=1):
        _head(pen, running, number, len(pages))
        draw_page(pen, page, BODY_TOP)
        _foot(pen, running)
        canvas.showPage()
    canvas.save()
    return target.getvalue()


def new_canvas(target: BytesIO, paper: Paper, title: str) -> Canvas:
    """An empty file of one paper's size, which carries no date of its own."""
    size = (paper.width_mm * POINTS_PER_MM, paper.height_mm * POINTS_PER_MM)
    canvas = Canvas(target, pagesize=size, pageCompression=1, invariant=1, lang="en-GB")
    canvas.setTitle(printable(title))
    canvas.setAuthor("decaljobs")
    canvas.setCreator("decaljobs")
    return canvas


def draw_ruler(
    pen: Pen, x: float, top: float, *, height: float = 3.0, between: float = 1.8
) -> None:
    """A ruler of 50 mm, its ends the outer edges of its end strokes; between: those of 5 mm."""
    stroke = Stroke(INK, 0.2)
    half, foot = stroke.width / 2, top + height
    for mm in range(0, int(RULER) + 1, 5):
        high = height if mm % 10 == 0 else between
        at = min(max(x + mm, x + half), x + RULER - half)
        pen.line(at, foot - high, at, foot, stroke)
    pen.line(x, foot, x + RULER, foot, stroke)


def _head(pen: Pen, running: Running, number: int, total: int) -> None:
    right = pen.paper.width_mm - SIDE
    code = one_line(running.code, STRONG, _CODE_ROOM)
    kind = running.kind
    after = SIDE
    for text, style in ((kind, QUIET.sized(9.5)), (code, STRONG)):
        pen.text(after, HEAD_TOP, text, style)
        after += pen.width(text, style) + 3.0
    if number > 1:
        title = one_line(running.title, QUIET.sized(9.5), right - 30.0 - after)
        pen.text(after, HEAD_TOP, title, QUIET.sized(9.5))
    pen.text(right, HEAD_TOP, f"page {number} of {total}", QUIET.sized(9.5), align="right")
    pen.line(SIDE, HEAD_TOP + 6.5, right, HEAD_TOP + 6.5, HAIRLINE)


def _foot(pen: Pen, running: Running) -> None:
    right = pen.paper.width_mm - SIDE
    top = pen.paper.height_mm - FOOT_HEIGHT + 7.0
    draw_ruler(pen, SIDE, top)
    pen.text(SIDE + RULER + 3.0, top + 0.4, f"measures {TRUE_SIZE}", TINY)
    room = right - SIDE - RULER - 55.0
    pen.text(right, top + 0.4, one_line(running.foot, TINY, room), TINY, align="right")
