"""The sheet for one session: its tasks across projects, each with a box to tick."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import zip_longest

from decaljobs.craft.figures import counted
from decaljobs.craft.paper.eveningsheet import EveningSheet, SheetTask
from decaljobs.craft.units import paper as paper_called
from decaljobs.pdf.flow import Block
from decaljobs.pdf.letters import Type, lines
from decaljobs.pdf.page import SIDE, Running, body_width, paper_pdf
from decaljobs.pdf.pen import HAIRLINE, INK, QUIET, SMALL, STRONG, TEXT, TITLE, Pen, Stroke
from decaljobs.pdf.words import care_lines, draw_care, words_block

#: mm
TICK, AFTER_TICK, CLOCK, MINUTES = 4.6, 8.0, 16.0, 20.0
PAD = 2.2
#: Lines that a text may take, so that every task fits on a page.
_MOST_WORDS, _MOST_CARE, _MOST_HOW, _MOST_READY = 4, 8, 8, 4


def evening_sheet_pdf(sheet: EveningSheet, *, paper: str = "A4") -> bytes:
    """The session as a PDF on A4 or Letter. Raises ValueError for another paper.

    What to heed and how it is done is told once for each kind of task, where it first comes.
    """
    size = paper_called(paper)
    width = body_width(size)
    told: set[str] = set()
    blocks = [_head(sheet, width)]
    for task, after in zip_longest(sheet.tasks, sheet.tasks[1:]):
        blocks += _together(_task(task, width, told), with_next=_keeps_with(task, after))
    if not sheet.tasks:
        blocks.append(words_block(["Nothing is planned for this session."], TEXT))
    foot = f"printed {sheet.printed_at}, times in {sheet.zone}"
    return paper_pdf(blocks, size, Running("Session", sheet.when, sheet.maker, foot))


def _head(sheet: EveningSheet, width: float) -> Block:
    title = lines(sheet.when, TITLE, width, 3)
    minutes = sum(task.minutes for task in sheet.tasks)
    tasks = sum(bool(task.project) for task in sheet.tasks)
    said = f"{sheet.maker}: {counted(tasks, 'task')}, {minutes} min"
    ready = lines("Have ready: " + ", ".join(sheet.ready), TEXT, width, _MOST_READY)
    shown = ready if sheet.ready else ()
    height = len(title) * TITLE.line_mm + TEXT.line_mm * (1 + len(shown)) + 4.0

    def draw(pen: Pen, top: float) -> None:
        after = pen.lines(SIDE, top, title, TITLE) + 1.0
        after = pen.lines(SIDE, after, lines(said, TEXT, width, 1), TEXT)
        pen.lines(SIDE, after, shown, TEXT)

    return Block(height, draw)


def _keeps_with(task: SheetTask, after: SheetTask | None) -> bool:
    """The airbrush is set up on the page of what follows, and cleaned on that of what is done."""
    if after is None:
        return False
    return not task.project or not after.project


def _together(blocks: Iterable[Block], *, with_next: bool) -> list[Block]:
    """The blocks of one task on one page, where a page can hold them."""
    *first, last = blocks
    return [*(replace(each, with_next=True) for each in first), replace(last, with_next=with_next)]


def _task(task: SheetTask, width: float, told: set[str]) -> Iterator[Block]:
    """The task's own line, then its decals, then what to heed and how, line by line."""
    is_new = bool(task.caution) and task.caution not in told
    told.add(task.caution)
    x = AFTER_TICK + CLOCK
    room = width - x - MINUTES
    words = lines(task.words, STRONG, room, _MOST_WORDS)
    yield _line(task, words, width)
    if task.project:
        yield from _texts([task.project], QUIET, x, room, 1)
    for place in task.places:
        yield _place(place, x, room)
    if is_new:
        yield _care(task.caution, x, width - x)
        yield from _texts([" ".join(task.how)], QUIET, x, width - x, _MOST_HOW)


def _line(task: SheetTask, words: tuple[str, ...], width: float) -> Block:
    def draw(pen: Pen, top: float) -> None:
        pen.line(SIDE, top, SIDE + width, top, HAIRLINE)
        pen.rect(SIDE, top + PAD, TICK, TICK, stroke=Stroke(INK, 0.25))
        pen.text(SIDE + AFTER_TICK, top + PAD, task.clock, STRONG)
        pen.lines(SIDE + AFTER_TICK + CLOCK, top + PAD, words, STRONG)
        pen.text(SIDE + width, top + PAD, f"{task.minutes} min", TEXT, align="right")

    height = max(TICK, len(words) * STRONG.line_mm) + PAD + 0.8
    return Block(height, draw, gap=PAD, with_next=bool(task.project))


def _place(place: str, x: float, room: float) -> Block:
    """One decal with a small box of its own."""
    said = lines(place, TEXT, room - 6.0, 2)

    def draw(pen: Pen, top: float) -> None:
        pen.rect(SIDE + x, top + 0.6, 3.0, 3.0, stroke=Stroke(INK, 0.2))
        pen.lines(SIDE + x + 6.0, top, said, TEXT)

    return Block(len(said) * TEXT.line_mm, draw)


def _care(caution: str, x: float, room: float) -> Block:
    said = care_lines(caution, room, _MOST_CARE)

    def draw(pen: Pen, top: float) -> None:
        draw_care(pen, SIDE + x, top, said)

    return Block(len(said) * SMALL.line_mm, draw, gap=1.0)


def _texts(texts: list[str], style: Type, x: float, room: float, most: int) -> Iterator[Block]:
    for text in texts:
        for line in lines(text, style, room, most):
            yield words_block([line], style, x=x)
