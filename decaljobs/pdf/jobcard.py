"""The job card on paper: the project at the head, each decal with a row for every step, and the
panels at true size."""

from __future__ import annotations

from collections.abc import Iterator

from decaljobs.craft.figures import counted
from decaljobs.craft.paper.jobcard import JobCard
from decaljobs.craft.units import paper as paper_called
from decaljobs.pdf.art import ArtShelf
from decaljobs.pdf.card_decal import decal_blocks
from decaljobs.pdf.card_placing import placing_blocks
from decaljobs.pdf.flow import Block, kept_whole
from decaljobs.pdf.letters import Type, lines, one_line
from decaljobs.pdf.page import SIDE, Running, body_height, body_width, paper_pdf
from decaljobs.pdf.pen import HAIR, QUIET, STRONG, TEXT, TITLE, Pen, Stroke
from decaljobs.pdf.qr import draw_qr
from decaljobs.pdf.words import words_block

#: The QR code's side, and the column that it and its white surround take, mm.
QR_SIZE = 27.0
QR_COLUMN = 38.0
NO_DECALS = "No decals yet: add one on the project's page."
#: Where the values stand beside their words, mm.
_VALUES = 24.0
_SWATCH = (26.0, 7.0)
#: The title is set in the largest of these sizes (points) that needs at most three lines.
_TITLE_SIZES = (22.0, 16.0, 12.0, 9.5)
#: Lines that each text of the head may take, so that the head fits on a page.
_MOST_TITLE, _MOST_FACT, _MOST_NOTES = 20, 6, 60


def job_card_pdf(card: JobCard, *, paper: str = "A4") -> bytes:
    """The card as a PDF on A4 or Letter.

    The same card makes the same bytes. Raises ValueError for another paper.
    """
    size = paper_called(paper)
    width = body_width(size)
    shelf = ArtShelf()
    told: set[tuple[str, ...]] = set()
    blocks = [_head(card, width), *_notes(card, width)]
    for place, decal in enumerate(card.decals):
        found = list(decal_blocks(decal, card.body_colour, size, shelf, told))
        # The first begins below the head in any case: the head alone would be a poor page.
        blocks += kept_whole(found, body_height(size)) if place else found
    if not card.decals:
        blocks.append(words_block([NO_DECALS], TEXT, gap=9.0))
    blocks += placing_blocks(card.panels, size)
    foot = f"printed {card.printed_at}, times in {card.zone}"
    return paper_pdf(blocks, size, Running("Job card", card.project, card.code, foot))


def _head(card: JobCard, width: float) -> Block:
    room = width - QR_COLUMN
    title, style = _title(card.project, room)
    facts = [
        (word, lines(said, TEXT, room - _VALUES, _MOST_FACT)) for word, said in _facts(card) if said
    ]
    title_height = len(title) * style.line_mm + 2.0
    facts_height = sum(max(1, len(said)) * TEXT.line_mm for _, said in facts)
    colour_height = _SWATCH[1] + 2.0
    code_height = QR_SIZE + 2.6 + STRONG.line_mm
    height = max(title_height + colour_height + facts_height, code_height)

    def draw(pen: Pen, top: float) -> None:
        _draw_code(pen, card, SIDE + width, top)
        pen.lines(SIDE, top, title, style)
        _draw_colour(pen, card, room, top + title_height)
        _draw_facts(pen, facts, top + title_height + colour_height)

    return Block(height, draw)


def _title(project: str, room: float) -> tuple[tuple[str, ...], Type]:
    for size in _TITLE_SIZES:
        style = TITLE.sized(size)
        title = lines(project, style, room, _MOST_TITLE)
        if len(title) <= 3:
            break
    return title, style


def _facts(card: JobCard) -> list[tuple[str, str]]:
    decals = counted(len(card.decals), "decal")
    return [
        ("Scale", ", ".join(word for word in (card.scale, decals) if word)),
        ("Due", card.due),
        ("For", card.customer),
    ]


def _draw_code(pen: Pen, card: JobCard, right: float, top: float) -> None:
    draw_qr(pen, card.address, right - QR_SIZE, top, QR_SIZE)
    code = one_line(card.code, STRONG, QR_COLUMN - 4.0)
    pen.text(right, top + QR_SIZE + 2.6, code, STRONG, align="right")


def _draw_colour(pen: Pen, card: JobCard, room: float, top: float) -> None:
    width, height = _SWATCH
    middle = top + (height - TEXT.line_mm) / 2
    x = SIDE + _VALUES
    pen.text(SIDE, middle + 0.3, "Body colour", QUIET)
    pen.rect(x, top, width, height, fill=card.body_colour, stroke=Stroke(HAIR, 0.1))
    words = ", ".join(word for word in (card.body_colour, card.finish) if word)
    said = one_line(words, TEXT, room - _VALUES - width - 4.0)
    pen.text(x + width + 4.0, middle, said, TEXT)


def _draw_facts(pen: Pen, facts: list[tuple[str, tuple[str, ...]]], top: float) -> None:
    for word, said in facts:
        pen.text(SIDE, top + 0.3, word, QUIET)
        top = pen.lines(SIDE + _VALUES, top, said, TEXT)


def _notes(card: JobCard, width: float) -> Iterator[Block]:
    """Notes line by line, so that long ones go on over the page."""
    told: list[str] = []
    for paragraph in card.notes.splitlines()[: _MOST_NOTES + 1]:
        told += lines(paragraph, TEXT, width - _VALUES, _MOST_NOTES + 1)
    if len(told) > _MOST_NOTES:
        told = [*told[:_MOST_NOTES], "… the notes go on, on the project's page."]
    for number, line in enumerate(told):
        yield _note(line, first=number == 0)


def _note(line: str, *, first: bool) -> Block:
    def draw(pen: Pen, top: float) -> None:
        if first:
            pen.text(SIDE, top + 0.3, "Notes", QUIET)
        pen.text(SIDE + _VALUES, top, line, TEXT)

    return Block(TEXT.line_mm, draw, gap=0.0)
