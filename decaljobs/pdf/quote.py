"""A quote: what the decals of a model will cost, line by line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from decaljobs.craft.paper.quote import Quote
from decaljobs.craft.stores.cost import CostLine
from decaljobs.craft.units import paper as paper_called
from decaljobs.pdf.flow import Block
from decaljobs.pdf.letters import Type, lines
from decaljobs.pdf.page import SIDE, Running, body_width, paper_pdf
from decaljobs.pdf.pen import HAIRLINE, QUIET, STRONG, TEXT, TITLE, Pen
from decaljobs.pdf.words import words_block

#: mm
PAD, AMOUNT = 2.0, 34.0
_MOST_LINES = 4


def quote_pdf(quote: Quote, *, paper: str = "A4") -> bytes:
    """The quote as a PDF on A4 or Letter. Raises ValueError for another paper."""
    size = paper_called(paper)
    width = body_width(size)
    blocks = [*_text(quote.name, TITLE, width)]
    if quote.customer:
        blocks += _text(f"For {quote.customer}", TEXT, width)
    blocks += _text(f"Reckoned on {quote.date}.", TEXT, width)
    if quote.decals:
        blocks += _spaced(_text("The decals", STRONG, width))
        blocks += [block for words in quote.decals for block in _text(words, TEXT, width)]
    blocks += _spaced(_text("What they will cost", STRONG, width))
    blocks += [_amount(line, quote.cost.currency, width) for line in quote.cost.lines]
    blocks.append(_total(quote, width))
    blocks += _text(
        "An estimate before the work: copies to spare are in it. Each line is rounded to the "
        "hundredth, half up; the total is the sum of the lines.",
        QUIET,
        width,
    )
    if quote.cost.missing:
        without = ", ".join(quote.cost.missing)
        blocks += _text(f"Not in it, for want of a price: {without}.", TEXT, width)
    running = Running("Quote", quote.name, quote.code, quote.date)
    return paper_pdf(blocks, size, running)


def _text(words: str, style: Type, width: float) -> Iterator[Block]:
    """A block for each line, so that a long text goes on over the page."""
    for line in lines(words, style, width, _MOST_LINES):
        yield words_block([line], style)


def _amount(line: CostLine, currency: str, width: float) -> Block:
    said = lines(line.words, TEXT, width - AMOUNT, 2)
    how = lines(line.reckoning, QUIET, width - AMOUNT, 1)

    def draw(pen: Pen, top: float) -> None:
        pen.line(SIDE, top, SIDE + width, top, HAIRLINE)
        after = pen.lines(SIDE, top + PAD, said, TEXT)
        pen.lines(SIDE, after, how, QUIET)
        pen.text(SIDE + width, top + PAD, f"{line.amount} {currency}", TEXT, align="right")

    return Block(len(said) * TEXT.line_mm + QUIET.line_mm + PAD, draw, gap=PAD)


def _total(quote: Quote, width: float) -> Block:
    def draw(pen: Pen, top: float) -> None:
        pen.line(SIDE, top, SIDE + width, top, HAIRLINE)
        pen.text(SIDE, top + PAD, "Total", STRONG)
        said = f"{quote.cost.total} {quote.cost.currency}"
        pen.text(SIDE + width, top + PAD, said, STRONG, align="right")

    return Block(STRONG.line_mm + 2 * PAD, draw, gap=PAD)


def _spaced(blocks: Iterable[Block]) -> list[Block]:
    """A heading with white space before it, kept with what it heads."""
    return [replace(block, gap=2 * PAD, with_next=True) for block in blocks]
