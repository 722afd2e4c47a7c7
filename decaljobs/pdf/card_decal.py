"""One decal on the job card: its art at actual size on the paint, its section, its steps."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from reportlab.lib.utils import ImageReader

from decaljobs.craft.colour import contrast_ratio, parse_hex
from decaljobs.craft.jobcard import CardDecal, Fit, fit_art, size_words
from decaljobs.craft.units import Paper
from decaljobs.pdf.art import ArtShelf
from decaljobs.pdf.card_row import GUTTER, SECOND, THIRD, row_block
from decaljobs.pdf.flow import Block
from decaljobs.pdf.letters import Type, lines
from decaljobs.pdf.page import SIDE, body_height, body_width
from decaljobs.pdf.pen import HAIR, HEADING, QUIET, SMALL, STRONG, WARN, Pen, Stroke
from decaljobs.pdf.section import draw_section

#: Paint shown round the art, and the least panel that is still seen as a panel, mm.
MARGIN = 4.0
LEAST_PANEL = (30.0, 16.0)
#: Height kept for a decal's caption on the page that its art fills, mm.
_CAPTION_ROOM = 14.0
_SECTION_WIDTH = 62.0
_NUMBER_ROOM = 22.0
_MOST_PIECES = 12


@dataclass(frozen=True)
class Panel:
    """The art as it lies on the paper, and the paint round it, mm."""

    fit: Fit
    width: float
    height: float
    picture: ImageReader | None

    @property
    def beside(self) -> bool:
        """Narrow enough that the section drawing stands beside it."""
        return self.width <= SECOND - 4.0


def decal_blocks(
    decal: CardDecal, body_colour: str, paper: Paper, shelf: ArtShelf, told: set[tuple[str, ...]]
) -> Iterator[Block]:
    """The blocks of one decal; told: how-to lines that the card has given already."""
    width = body_width(paper)
    panel = _panel(decal, paper, shelf)
    again = _again(decal, width)
    yield _heading(decal, width)
    yield _art_block(decal, panel, body_colour, width)
    if not panel.beside:
        yield _section_block(decal, body_colour, width, again)
    for row in decal.rows:
        new = bool(row.how) and not row.done and row.how not in told
        if new:
            told.add(row.how)
        yield row_block(row, width, how=new, again=again)


def _panel(decal: CardDecal, paper: Paper, shelf: ArtShelf) -> Panel:
    room_width = body_width(paper) - 2 * MARGIN
    room_height = body_height(paper) - 2 * MARGIN - _CAPTION_ROOM
    fit = fit_art(decal.width_mm, decal.height_mm, room_width, room_height)
    picture = None if decal.art is None else shelf.ready(decal.art, fit)
    width = max(fit.width_mm + 2 * MARGIN, LEAST_PANEL[0])
    return Panel(fit, width, max(fit.height_mm + 2 * MARGIN, LEAST_PANEL[1]), picture)


def _number(decal: CardDecal) -> str:
    return f"{decal.number} of {decal.of}" if decal.of > 1 else ""


def _heading(decal: CardDecal, width: float) -> Block:
    room = width - _NUMBER_ROOM
    style = HEADING
    if len(lines(decal.place, style, room)) > 2:
        style = HEADING.sized(9.5)
    place = lines(decal.place, style, room)

    def draw(pen: Pen, top: float) -> None:
        pen.lines(SIDE, top, place, style)
        pen.text(SIDE + width, top + 0.4, _number(decal), STRONG, align="right")

    return Block(len(place) * style.line_mm + 2.0, draw, with_next=True, gap=9.0)


def _again(decal: CardDecal, width: float) -> Block:
    """What stands above a decal's rows when they go on over the page."""
    place = lines(decal.place, STRONG, width - _NUMBER_ROOM - 24.0, 1)
    number = _number(decal)

    def draw(pen: Pen, top: float) -> None:
        pen.lines(SIDE, top, place, STRONG)
        words = f"{number}, continued" if number else "continued"
        pen.text(SIDE + width, top, words, QUIET, align="right")

    return Block(STRONG.line_mm + 2.5, draw)


def _art_block(decal: CardDecal, panel: Panel, body_colour: str, width: float) -> Block:
    """The panel with its caption below; the section beside it where there is room."""
    caption, style = _caption(decal, panel, SECOND - 4.0 if panel.beside else width)
    height = panel.height + 1.5 + len(caption) * style.line_mm
    facts = _facts(decal, width - THIRD) if panel.beside else []
    if panel.beside:
        height = max(height, _section_height(decal), _facts_height(facts))

    def draw(pen: Pen, top: float) -> None:
        _draw_panel(pen, panel, body_colour, SIDE, top)
        pen.lines(SIDE, top + panel.height + 1.5, caption, style)
        if panel.beside:
            _draw_section(pen, decal, body_colour, SIDE + SECOND, top)
            _draw_facts(pen, facts, SIDE + THIRD, top)

    return Block(height + 4.0, draw, with_next=panel.beside and bool(decal.rows))


def _section_block(decal: CardDecal, body_colour: str, width: float, again: Block) -> Block:
    facts = _facts(decal, width - SECOND - GUTTER)
    height = max(_section_height(decal), _facts_height(facts)) + 4.0

    def draw(pen: Pen, top: float) -> None:
        _draw_section(pen, decal, body_colour, SIDE, top)
        _draw_facts(pen, facts, SIDE + SECOND + GUTTER, top)

    return Block(height, draw, with_next=bool(decal.rows), again=again)


def _caption(decal: CardDecal, panel: Panel, room: float) -> tuple[tuple[str, ...], Type]:
    """The size in words; in the colour of care where the art is not at actual size."""
    words = size_words(decal.width_mm, decal.height_mm, panel.fit)
    style = QUIET if panel.fit.factor == 1 else WARN
    return lines(words, style, room), style


def _draw_panel(pen: Pen, panel: Panel, body_colour: str, x: float, top: float) -> None:
    pen.rect(x, top, panel.width, panel.height, fill=body_colour, stroke=Stroke(HAIR, 0.1))
    left = x + (panel.width - panel.fit.width_mm) / 2
    above = top + (panel.height - panel.fit.height_mm) / 2
    if panel.picture is not None:
        pen.picture(left, above, panel.fit.width_mm, panel.fit.height_mm, panel.picture)
        return
    seen = _seen_on(body_colour)
    pen.rect(left, above, panel.fit.width_mm, panel.fit.height_mm, stroke=Stroke(seen, 0.2, (1, 1)))
    style = Type(QUIET.font, QUIET.size, QUIET.leading, seen)
    words = lines("no picture", style, panel.width - 2.0, 1)
    middle = top + (panel.height - style.line_mm) / 2
    pen.text(x + panel.width / 2, middle, words[0], style, align="middle")


def _seen_on(body_colour: str) -> str:
    white, black = (255, 255, 255), (0, 0, 0)
    paint = parse_hex(body_colour)
    lighter = contrast_ratio(paint, white) > contrast_ratio(paint, black)
    return "#ffffff" if lighter else "#000000"


def _scale(decal: CardDecal) -> float:
    return _SECTION_WIDTH / decal.section.width


def _section_height(decal: CardDecal) -> float:
    return decal.section.height * _scale(decal)


def _draw_section(pen: Pen, decal: CardDecal, body_colour: str, x: float, top: float) -> None:
    draw_section(pen, decal.section, body_colour, x, top, _scale(decal))


def _facts(decal: CardDecal, room: float) -> list[tuple[str, tuple[str, ...]]]:
    """What stands beside the section: a quiet word and its lines below."""
    pieces: list[str] = []
    for piece in decal.pieces[:_MOST_PIECES]:
        pieces += lines(piece, SMALL, room, 4)
    if more := len(decal.pieces) - _MOST_PIECES:
        pieces += [f"and {more} more"] if more > 0 else []
    copies = ", ".join(f"{layer} {count or 'none'}" for layer, count in decal.good_copies)
    facts = [
        ("Build, stage", lines(f"{decal.build}; {decal.stage}", SMALL, room, 6)),
        ("Pieces", tuple(pieces)),
        ("Good copies left", lines(copies, SMALL, room, 6)),
    ]
    return [(word, said) for word, said in facts if said]


def _facts_height(facts: list[tuple[str, tuple[str, ...]]]) -> float:
    told = sum(len(said) for _, said in facts) * SMALL.line_mm
    return told + len(facts) * (QUIET.line_mm + 1.2)


def _draw_facts(pen: Pen, facts: list[tuple[str, tuple[str, ...]]], x: float, top: float) -> None:
    for word, said in facts:
        pen.text(x, top, word, QUIET)
        top = pen.lines(x, top + QUIET.line_mm, said, SMALL) + 1.2
