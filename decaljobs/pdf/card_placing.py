"""The placing strips of a job card: each panel at true size, to cut out and hold against the
model. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterator

from decaljobs.craft.paper.jobcard import CardPanel
from decaljobs.craft.paper.paperstrip import PageDivision, divide
from decaljobs.craft.placing import Placed, distances, warnings_of
from decaljobs.craft.units import Paper
from decaljobs.pdf.flow import Block
from decaljobs.pdf.letters import lines
from decaljobs.pdf.page import SIDE, body_height, body_width
from decaljobs.pdf.pen import HEADING, QUIET, SMALL, TEXT, WARN, Pen
from decaljobs.pdf.placing_strip import BESIDE, Strip, draw_strip
from decaljobs.pdf.words import words_block

#: Height kept on a strip's page for its name, what it says, and white.
_WORDS_ROOM = 34.0
_HOW = (
    "At true size. Cut out along the unbroken outline and hold it against the model; thin lines "
    "of dots and dashes are the middles, crosses the centres of decals."
)
_JOIN = "Larger than the page: cut at the joints and lay them edge to edge, same letter to same."
_TURNED = "Turned a quarter: what is up on the model lies to the right here."
_MOST_WARNINGS = 12


def placing_blocks(panels: tuple[CardPanel, ...], paper: Paper) -> Iterator[Block]:
    """The strips of all panels, with the places of their decals in words."""
    for number, panel in enumerate(panels):
        yield from _panel_blocks(panel, paper, first=number == 0)


def division_of(panel: CardPanel, paper: Paper) -> PageDivision:
    """How a panel lies on pages of a paper."""
    room = body_width(paper) - 2 * BESIDE, body_height(paper) - 2 * BESIDE - _WORDS_ROOM
    return divide(panel.panel.width_mm, panel.panel.height_mm, *room)


def _panel_blocks(panel: CardPanel, paper: Paper, *, first: bool) -> Iterator[Block]:
    division = division_of(panel, paper)
    yield _heading(panel, division, body_width(paper), first=first)
    for part in division.parts:
        strip = Strip(panel, part, division)
        named = f"Part {part.column} of {division.columns} from the left"
        if division.rows > 1:
            named += f", {part.row} of {division.rows} from below"
        yield _strip(strip, named if len(division.parts) > 1 else "")
    width = body_width(paper)
    for number, placed in enumerate(panel.decals, start=1):
        yield _line(f"{number}  {placed.name}", _place_words(panel, placed), width)
    for warning in warnings_of(panel.panel, panel.decals)[:_MOST_WARNINGS]:
        yield words_block(lines(warning, WARN, width, 3), WARN, below=0.5)


def _heading(panel: CardPanel, division: PageDivision, width: float, *, first: bool) -> Block:
    size = f"{panel.panel.width_mm:.1f} × {panel.panel.height_mm:.1f} mm"
    title = lines(f"Placing strip: {panel.name}, {size}", HEADING, width, 3)
    how = lines(_HOW, QUIET, width) if first else ()
    how += lines(_TURNED, QUIET, width) if division.turned else ()
    how += lines(_JOIN, QUIET, width) if len(division.parts) > 1 else ()
    height = len(title) * HEADING.line_mm + len(how) * QUIET.line_mm + 1.0

    def draw(pen: Pen, top: float) -> None:
        below = pen.lines(SIDE, top, title, HEADING)
        pen.lines(SIDE, below, how, QUIET)

    return Block(height, draw, with_next=True, gap=9.0)


def _strip(strip: Strip, named: str) -> Block:
    words = SMALL.line_mm if named else 0.0

    def draw(pen: Pen, top: float) -> None:
        if named:
            pen.text(SIDE, top, named, SMALL)
        draw_strip(pen, strip, SIDE + BESIDE, top + words + BESIDE)

    return Block(strip.paper_height + 2 * BESIDE + words, draw, gap=1.0)


def _place_words(panel: CardPanel, placed: Placed) -> str:
    free = distances(panel.panel, placed)
    turned = f", turned {placed.turn:g}°" if placed.turn else ""
    return (
        f"centre {placed.x_mm:.1f} from the left, {placed.y_mm:.1f} from below{turned}; edges "
        f"{free.left:.1f} from the left, {free.right:.1f} from the right, "
        f"{free.below:.1f} from below, {free.above:.1f} from above (mm)"
    )


def _line(name: str, words: str, width: float) -> Block:
    column = 52.0
    named, said = lines(name, TEXT, column - 3.0, 3), lines(words, SMALL, width - column, 4)

    def draw(pen: Pen, top: float) -> None:
        pen.lines(SIDE, top, named, TEXT)
        pen.lines(SIDE + column, top + 0.3, said, SMALL)

    return Block(max(len(named) * TEXT.line_mm, len(said) * SMALL.line_mm) + 1.0, draw)
