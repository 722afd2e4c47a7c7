"""One decal on the job card: its art on the paint, its section, its facts, its steps."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from decaljobs.craft.paper.jobcard import CardDecal
from decaljobs.craft.units import Paper
from decaljobs.pdf.art import ArtShelf
from decaljobs.pdf.card_guides import guide_blocks
from decaljobs.pdf.card_panel import Panel, art_panel, draw_panel
from decaljobs.pdf.card_row import GUTTER, SECOND, THIRD, row_block
from decaljobs.pdf.flow import Block
from decaljobs.pdf.letters import lines
from decaljobs.pdf.page import SIDE, body_width
from decaljobs.pdf.pen import HEADING, QUIET, SMALL, STRONG, Pen
from decaljobs.pdf.section import draw_section

#: The width of the section drawing with its labels, mm.
SECTION_WIDTH = 62.0
#: White below the pictures and before the next decal, mm.
BELOW, BETWEEN_DECALS = 2.5, 8.0
_FACT_GAP = 1.2
_NUMBER_ROOM = 22.0
#: Pieces told of, and lines of a place's name: so much that the decal fits on a page.
_MOST_PIECES, _MOST_PLACE = 12, 20

Facts = list[tuple[str, tuple[str, ...]]]


@dataclass(frozen=True)
class Aside:
    """Where the section and the facts of a decal stand, from the margin, mm."""

    section_x: float
    facts_x: float
    facts_width: float
    stacked: bool = False


def decal_blocks(
    decal: CardDecal, body_colour: str, paper: Paper, shelf: ArtShelf, told: set[tuple[str, ...]]
) -> Iterator[Block]:
    """The blocks of one decal; told: how-to lines that the card has given already."""
    width = body_width(paper)
    panel = art_panel(decal, paper, shelf)
    again = _again(decal, width)
    yield _heading(decal, width)
    yield from _pictures(decal, panel, body_colour, width, again)
    if decal.guides:
        yield from guide_blocks(decal.guides, width)
    for place, row in enumerate(decal.rows, start=1):
        new = bool(row.how) and not row.done and row.how not in told
        if new:
            told.add(row.how)
        # The last row is never alone on a page.
        last_but_one = place == len(decal.rows) - 1
        yield row_block(row, width, how=new, again=again, with_next=last_but_one)


def _number(decal: CardDecal) -> str:
    return f"{decal.number} of {decal.of}" if decal.of > 1 else ""


def _heading(decal: CardDecal, width: float) -> Block:
    room = width - _NUMBER_ROOM
    long = len(lines(decal.place, HEADING, room)) > 2
    style = HEADING.sized(9.5) if long else HEADING
    place = lines(decal.place, style, room, _MOST_PLACE)

    def draw(pen: Pen, top: float) -> None:
        pen.lines(SIDE, top, place, style)
        pen.text(SIDE + width, top + 0.4, _number(decal), STRONG, align="right")

    height = len(place) * style.line_mm + 2.0
    return Block(height, draw, with_next=True, gap=BETWEEN_DECALS)


def _again(decal: CardDecal, width: float) -> Block:
    """What stands above a decal's rows when they go on over the page."""
    place = lines(decal.place, STRONG, width - _NUMBER_ROOM - 24.0, 1)
    number = _number(decal)

    def draw(pen: Pen, top: float) -> None:
        pen.lines(SIDE, top, place, STRONG)
        words = f"{number}, continued" if number else "continued"
        pen.text(SIDE + width, top, words, QUIET, align="right")

    return Block(STRONG.line_mm + 2.5, draw)


def _pictures(
    decal: CardDecal, panel: Panel, body_colour: str, width: float, again: Block
) -> Iterator[Block]:
    """The panel with section and facts: beside it where there is room, else below."""
    beside = _beside(panel, width)
    room = SECOND - 4.0 if beside and not beside.stacked else max(panel.width, 56.0)
    aside = beside or Aside(0.0, SECOND + GUTTER, width - SECOND - GUTTER)
    facts = _facts(decal, aside.facts_width)
    aside_height = _aside_height(decal, aside, facts) + BELOW
    panel_height = panel.total_height(room) + BELOW

    def draw_art(pen: Pen, top: float) -> None:
        draw_panel(pen, panel, body_colour, SIDE, top, room)
        if beside:
            draw_aside(pen, top)

    def draw_aside(pen: Pen, top: float) -> None:
        _draw_aside(pen, decal, aside, facts, body_colour, top)

    rows_follow = bool(decal.rows)
    if beside:
        yield Block(max(panel_height, aside_height), draw_art, with_next=rows_follow)
    else:
        yield Block(panel_height, draw_art)
        yield Block(aside_height, draw_aside, with_next=rows_follow, again=again)


def _beside(panel: Panel, width: float) -> Aside | None:
    """The aside right of a panel, or None if the panel leaves too little room."""
    if panel.width <= SECOND - 4.0:
        return Aside(SECOND, THIRD, width - THIRD)
    right = width - SECTION_WIDTH
    if panel.width <= right - GUTTER:
        return Aside(right, right, SECTION_WIDTH, stacked=True)
    return None


def _section_height(decal: CardDecal) -> float:
    return decal.section.height * SECTION_WIDTH / decal.section.width


def _aside_height(decal: CardDecal, aside: Aside, facts: Facts) -> float:
    told = sum(len(said) for _, said in facts) * SMALL.line_mm
    facts_height = told + len(facts) * (QUIET.line_mm + _FACT_GAP)
    drawn = _section_height(decal)
    return drawn + 2.0 + facts_height if aside.stacked else max(drawn, facts_height)


def _draw_aside(
    pen: Pen, decal: CardDecal, aside: Aside, facts: Facts, body_colour: str, top: float
) -> None:
    scale = SECTION_WIDTH / decal.section.width
    draw_section(pen, decal.section, body_colour, SIDE + aside.section_x, top, scale)
    x = SIDE + aside.facts_x
    below = top + _section_height(decal) + 2.0 if aside.stacked else top
    for word, said in facts:
        pen.text(x, below, word, QUIET)
        below = pen.lines(x, below + QUIET.line_mm, said, SMALL) + _FACT_GAP


def _facts(decal: CardDecal, room: float) -> Facts:
    """What stands beside the section: a quiet word and its lines below."""
    pieces: list[str] = []
    for piece in decal.pieces[:_MOST_PIECES]:
        pieces += lines(piece, SMALL, room, 2)
    if len(decal.pieces) > _MOST_PIECES:
        pieces.append(f"and {len(decal.pieces) - _MOST_PIECES} more")
    copies = ", ".join(f"{layer} {count or 'none'}" for layer, count in decal.good_copies)
    facts = [
        ("Build, stage", lines(f"{decal.build}; {decal.stage}", SMALL, room, 6)),
        ("Drying", lines(decal.drying, SMALL, room, 8)),
        ("Pieces", tuple(pieces)),
        ("Good copies left", lines(copies, SMALL, room, 6)),
    ]
    return [(word, said) for word, said in facts if said]
