"""The cut guides of a decal on the job card: at true size, and three times as large."""

from __future__ import annotations

from collections.abc import Iterator

from decaljobs.craft.paper.jobcard import CardGuides
from decaljobs.pdf.flow import Block
from decaljobs.pdf.page import SIDE
from decaljobs.pdf.pen import INK, QUIET, SMALL, Pen, Stroke
from decaljobs.pdf.words import words_block

LARGE = 3.0
GAP = 8.0
#: A drawing higher than this would push the steps off the page, mm.
MOST_HEIGHT = 110.0
STROKES = {
    "base": Stroke(INK, 0.15),
    "clear": Stroke(INK, 0.15, (2.0, 1.0)),
    "relief": Stroke(INK, 0.15, (0.5, 0.8)),
}
KEY = "unbroken: base cut, white film   dashed: clear cut, clear film   dotted: relief cuts"
TOO_LARGE = "At 3:1 these guides are larger than the page."
FAR_TOO_LARGE = (
    "These cut guides are larger than the page at 1:1: see them on the artwork's own page."
)


def guide_blocks(guides: CardGuides, width: float) -> Iterator[Block]:
    """The guides at 1:1, and at 3:1 beside them or below, each where it fits."""
    small = (guides.width_mm, guides.height_mm)
    large = (small[0] * LARGE, small[1] * LARGE)
    fits_small = small[0] <= width and small[1] <= MOST_HEIGHT
    fits_large = large[0] <= width and large[1] <= MOST_HEIGHT
    if not fits_small:
        yield _said(FAR_TOO_LARGE)
        return
    if fits_large and small[0] + GAP + large[0] <= width:
        yield _block(guides, [(0.0, 1.0), (small[0] + GAP, LARGE)], large[1])
        return
    yield _block(guides, [(0.0, 1.0)], small[1])
    yield _block(guides, [(0.0, LARGE)], large[1]) if fits_large else _said(TOO_LARGE)


def _said(sentence: str) -> Block:
    return words_block([sentence], QUIET, below=1.5)


def _block(guides: CardGuides, drawings: list[tuple[float, float]], height: float) -> Block:
    def draw(pen: Pen, top: float) -> None:
        for x, factor in drawings:
            _draw(pen, guides, SIDE + x, top, factor)
            pen.text(SIDE + x, top + guides.height_mm * factor + 0.8, f"{factor:.0f}:1", SMALL)
        pen.text(SIDE, top + height + SMALL.line_mm + 1.2, KEY, QUIET)

    return Block(height + SMALL.line_mm + QUIET.line_mm + 3.0, draw)


def _draw(pen: Pen, guides: CardGuides, x: float, top: float, factor: float) -> None:
    for kind, lines in (
        ("clear", guides.clear),
        ("base", guides.base),
        ("relief", guides.relief),
    ):
        for line in lines:
            places = [
                (x + (px - guides.left) * factor, top + (py - guides.top) * factor)
                for px, py in line
            ]
            pen.path(places, STROKES[kind])
