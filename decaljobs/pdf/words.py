"""Words alone, as every paper has them: lines as a block, and a caution with its first word bold.

Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Sequence

from decaljobs.pdf.flow import Block
from decaljobs.pdf.letters import Type, lines
from decaljobs.pdf.page import SIDE
from decaljobs.pdf.pen import SMALL, WARN, Pen

_CARE_WORD = "Caution:"


def words_block(
    said: Sequence[str],
    style: Type,
    *,
    x: float = 0.0,
    gap: float = 0.0,
    below: float = 0.0,
    with_next: bool = False,
) -> Block:
    """Lines one below the other, x from the margin, with white before (gap) and below them."""

    def draw(pen: Pen, top: float) -> None:
        pen.lines(SIDE + x, top, said, style)

    return Block(len(said) * style.line_mm + below, draw, gap=gap, with_next=with_next)


def care_lines(caution: str, room: float, most: int) -> tuple[str, ...]:
    """A caution broken into lines of a room; none where there is no caution."""
    # Its first word is set bolder and so wider than it is measured.
    return lines(f"{_CARE_WORD} {caution}", SMALL, room - 1.5, most) if caution else ()


def draw_care(pen: Pen, x: float, top: float, care: Sequence[str]) -> None:
    """Draw the lines of a caution."""
    if not care:
        return
    pen.text(x, top, _CARE_WORD, WARN)
    rest = care[0].removeprefix(_CARE_WORD).lstrip()
    pen.text(x + pen.width(f"{_CARE_WORD} ", WARN), top, rest, SMALL)
    pen.lines(x, top + SMALL.line_mm, care[1:], SMALL)
