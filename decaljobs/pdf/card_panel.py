"""A decal's art on the card: on a panel of its paint, at actual size. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass, replace

from reportlab.lib.utils import ImageReader

from decaljobs.craft.colour import contrast_ratio, parse_hex
from decaljobs.craft.paper.jobcard import CardDecal, Fit, fit_art, size_words
from decaljobs.craft.units import Paper
from decaljobs.pdf.art import ArtShelf
from decaljobs.pdf.letters import Type, lines
from decaljobs.pdf.page import body_height, body_width
from decaljobs.pdf.pen import HAIR, QUIET, WARN, Pen, Stroke

#: Paint shown round the art, and the least panel that is still seen as a panel, mm.
MARGIN = 4.0
LEAST_WIDTH, LEAST_HEIGHT = 30.0, 16.0
#: Height kept for a decal's name and caption on the page that its art fills, mm.
_WORDS_ROOM = 24.0
_CAPTION_GAP = 1.5


@dataclass(frozen=True)
class Panel:
    """The art as it lies on the paper, the paint round it, and its size in words, mm."""

    fit: Fit
    width: float
    height: float
    picture: ImageReader | None
    words: str

    @property
    def caption_style(self) -> Type:
        """The colour of care where the art is not at actual size."""
        return QUIET if self.fit.factor == 1 else WARN

    def caption(self, room: float) -> tuple[str, ...]:
        """The size in words, in lines of a room."""
        return lines(self.words, self.caption_style, room)

    def total_height(self, room: float) -> float:
        """The height with the caption below."""
        said = self.caption(room)
        return self.height + _CAPTION_GAP + len(said) * self.caption_style.line_mm


def art_panel(decal: CardDecal, paper: Paper, shelf: ArtShelf) -> Panel:
    """The panel of a decal on a paper: at actual size if the page can hold it."""
    room_width = body_width(paper) - 2 * MARGIN
    room_height = body_height(paper) - 2 * MARGIN - _WORDS_ROOM
    fit = fit_art(decal.width_mm, decal.height_mm, room_width, room_height)
    return Panel(
        fit=fit,
        width=max(fit.width_mm + 2 * MARGIN, LEAST_WIDTH),
        height=max(fit.height_mm + 2 * MARGIN, LEAST_HEIGHT),
        picture=None if decal.art is None else shelf.ready(decal.art, fit),
        words=size_words(decal.width_mm, decal.height_mm, fit),
    )


def draw_panel(pen: Pen, panel: Panel, body_colour: str, x: float, top: float, room: float) -> None:
    """Draw the panel at x, top with its caption in a room below."""
    pen.rect(x, top, panel.width, panel.height, fill=body_colour, stroke=Stroke(HAIR, 0.1))
    wide, high = panel.fit.width_mm, panel.fit.height_mm
    left, above = x + (panel.width - wide) / 2, top + (panel.height - high) / 2
    if panel.picture is not None:
        pen.picture(left, above, wide, high, panel.picture)
    else:
        seen = _seen_on(body_colour)
        pen.rect(left, above, wide, high, stroke=Stroke(seen, 0.2, (1.0, 1.0)))
        _no_picture(pen, panel, seen, x, top)
    below = top + panel.height + _CAPTION_GAP
    pen.lines(x, below, panel.caption(room), panel.caption_style)


def _no_picture(pen: Pen, panel: Panel, seen: str, x: float, top: float) -> None:
    style = replace(QUIET, colour=seen)
    middle = top + (panel.height - style.line_mm) / 2
    pen.text(x + panel.width / 2, middle, "no picture", style, align="middle")


def _seen_on(body_colour: str) -> str:
    """White or black, whichever stands out more."""
    paint = parse_hex(body_colour)
    lighter = contrast_ratio(paint, (255, 255, 255)) > contrast_ratio(paint, (0, 0, 0))
    return "#ffffff" if lighter else "#000000"
