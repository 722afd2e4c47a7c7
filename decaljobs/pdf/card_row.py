"""A row of the job card: one step of one decal, with room to write. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass, replace

from decaljobs.craft.paper.jobcard import CardRow
from decaljobs.pdf.flow import Block
from decaljobs.pdf.letters import lines, width_mm
from decaljobs.pdf.page import SIDE
from decaljobs.pdf.pen import HAIRLINE, INK, QUIET, SMALL, SOFT, STRONG, TINY, Pen, Stroke
from decaljobs.pdf.words import care_lines, draw_care

#: The three columns that decals and rows share: left edges from the margin, and a gutter.
FIRST, SECOND, THIRD = 0.0, 60.0, 134.0
GUTTER = 6.0
#: The tick box: its side, and where the words beside it and the caution beside those start.
TICK, AFTER_TICK, BESIDE = 4.6, 8.0, 44.0
#: Space above and below a row's words, and the height that leaves room for a pen.
PAD = 1.4
ROOM_TO_WRITE = 11.8
MOMENT_BELOW = STRONG.sized(8)
#: White between the words side by side and those below them.
BETWEEN = 1.0
#: Lines that each text may take, so that any row fits on a page.
_MOST_STEP, _MOST_MATERIALS, _MOST_CARE, _MOST_REASON, _MOST_HOW = 4, 8, 18, 14, 10
_MOST_MOMENT = 4


@dataclass(frozen=True)
class _Texts:
    """A row's words broken into lines."""

    step: tuple[str, ...]
    materials: tuple[str, ...]
    care: tuple[str, ...]
    reason: tuple[str, ...] = ()
    how: tuple[str, ...] = ()

    @property
    def left_height(self) -> float:
        return len(self.step) * STRONG.line_mm + len(self.materials) * QUIET.line_mm

    @property
    def beside_height(self) -> float:
        return max(self.left_height, len(self.care) * SMALL.line_mm)

    @property
    def below_height(self) -> float:
        told = len(self.reason) * SMALL.line_mm + len(self.how) * QUIET.line_mm
        return told + BETWEEN if told else 0.0


@dataclass(frozen=True)
class _Moment:
    """When a step was done or may be: short beside its word, or in lines below it."""

    word: str
    short: str
    below: tuple[str, ...]

    @property
    def below_height(self) -> float:
        return len(self.below) * MOMENT_BELOW.line_mm


def row_block(
    row: CardRow, width: float, *, how: bool, again: Block, with_next: bool = False
) -> Block:
    """The row as a block; how: with the lines that tell how it is done."""
    moment = _when(row, width)
    right = moment.below_height + (STRONG.line_mm if row.done else ROOM_TO_WRITE)
    texts = _texts(row, width, right, how=how)
    height = max(texts.beside_height + texts.below_height, right) + 2 * PAD

    def draw(pen: Pen, top: float) -> None:
        pen.line(SIDE, top, SIDE + width, top, HAIRLINE)
        _tick_box(pen, SIDE, top + PAD, done=bool(row.done))
        _words(pen, texts, top + PAD)
        _moment(pen, moment, SIDE + width, top + PAD)
        if not row.done:
            _to_write(pen, SIDE + width, top + PAD + moment.below_height)

    return Block(height, draw, again=again, with_next=with_next)


def _when(row: CardRow, width: float) -> _Moment:
    said = row.done or row.not_before
    if not said:
        return _Moment("", "", ())
    word = "done" if row.done else "not before"
    # What is done needs no caution: its moment may reach over the column of cautions.
    room = width - (SECOND if row.done else THIRD)
    short = lines(said, STRONG, room - width_mm(word, QUIET) - 2.0)
    if len(short) == 1:
        return _Moment(word, short[0], ())
    return _Moment(word, "", lines(said, MOMENT_BELOW, width - THIRD, _MOST_MOMENT))


def _texts(row: CardRow, width: float, right: float, *, how: bool) -> _Texts:
    """A row's words, where the right column is so high.

    A step that is done needs its caution and materials no more, only its reason.
    """
    left = BESIDE - 4.0 - AFTER_TICK
    coming = not row.done
    ready = "Have ready: " + ", ".join(row.materials) if row.materials and coming else ""
    beside = _Texts(
        step=lines(row.step, STRONG, left, _MOST_STEP),
        materials=lines(ready, QUIET, left, _MOST_MATERIALS),
        care=care_lines(row.caution if coming else "", THIRD - GUTTER - BESIDE, _MOST_CARE),
    )
    # Below the room to write the words have the whole width.
    below = (width if beside.beside_height >= right else THIRD - GUTTER) - AFTER_TICK
    reason = f"Logged early: {row.reason}" if row.reason else ""
    told = " ".join(row.how) if how and coming else ""
    return replace(
        beside,
        reason=lines(reason, SMALL, below, _MOST_REASON),
        how=lines(told, QUIET, below, _MOST_HOW),
    )


def _words(pen: Pen, texts: _Texts, top: float) -> None:
    x = SIDE + AFTER_TICK
    after = pen.lines(x, top, texts.step, STRONG)
    pen.lines(x, after, texts.materials, QUIET)
    draw_care(pen, SIDE + BESIDE, top + 0.3, texts.care)
    after = pen.lines(x, top + texts.beside_height + BETWEEN, texts.reason, SMALL)
    pen.lines(x, after, texts.how, QUIET)


def _tick_box(pen: Pen, x: float, top: float, *, done: bool) -> None:
    pen.rect(x, top, TICK, TICK, stroke=Stroke(INK, 0.25))
    if done:
        stroke = Stroke(INK, 0.5)
        pen.line(x + 1.0, top + 2.4, x + 1.9, top + 3.5, stroke)
        pen.line(x + 1.9, top + 3.5, x + 3.7, top + 1.1, stroke)


def _moment(pen: Pen, moment: _Moment, right: float, top: float) -> None:
    """A moment at the right margin with its word before it, or below the word if it is long."""
    x = SIDE + THIRD
    before = right - pen.width(moment.short, STRONG) - pen.width(moment.word, QUIET) - 2.0
    pen.text(min(x, before), top + 0.3, moment.word, QUIET)
    if moment.short:
        pen.text(right, top, moment.short, STRONG, align="right")
    pen.lines(x, top + STRONG.line_mm, moment.below, MOMENT_BELOW)


def _to_write(pen: Pen, right: float, top: float) -> None:
    x = SIDE + THIRD
    foot = top + ROOM_TO_WRITE - 2.8
    middle = x + (right - x) * 0.6
    for start, end, word in ((x, middle - 2.5, "date"), (middle, right, "time")):
        pen.line(start, foot, end, foot, Stroke(SOFT, 0.2))
        pen.text(start, foot + 0.4, word, TINY)
