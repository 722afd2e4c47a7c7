"""The charts of the records, as plain geometry for page and paper, each beside its table.

All are narrow, so that a telephone shows them without pushing. Every bar has its figure in words.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from decaljobs.craft.drawings.drawn import Area, Drawn, Trace, Words
from decaljobs.craft.figures import whole_percent
from decaljobs.craft.records.success import Rate

#: Units (see drawn).
WIDTH, ROW, FOOT = 320.0, 54.0, 30.0
LEFT, RIGHT = 2.0, 318.0
BAR_TOP, BAR = 26.0, 14.0
MARK, MARK_OVER = 4.0, 4.0
PLOT_LEFT, PLOT_TOP, PLOT = 60.0, 12.0, 170.0
#: Letters that a row's words have room for beside its figure.
LETTERS = 33
QUARTERS = (0.0, 0.25, 0.5, 0.75, 1.0)


class Look(StrEnum):
    """How a part of a chart is drawn; the page's style sheet and the paper each know it."""

    RANGE = "range"
    SHARE = "share"
    BAR = "bar"
    ASKED = "asked"
    GRID = "grid"
    FRAME = "frame"
    LINE = "line"
    NAME = "name"
    LABEL = "label"


@dataclass(frozen=True)
class Counted:
    """One bar: its words, how long it is (0 or more), and its figure in words."""

    words: str
    value: float
    said: str


@dataclass(frozen=True)
class Pair:
    """Two bars of one thing: what was asked for and what was; None where that is not known."""

    words: str
    asked: float | None
    real: float | None
    said: str


def rate_chart(title: str, rows: Sequence[tuple[str, Rate]]) -> Drawn:
    """A row a rate: its 90 % range as a bar, the share as a mark across it, from 0 to 100 %.

    Where there are too few pieces, no bar is drawn.

    >>> from decaljobs.craft.records.success import rate_of
    >>> rate_chart("By layer", [("base", rate_of(18, 2)), ("clear", rate_of(2, 0))]).sentence
    'By layer. Base: 90 % of 20 (73 to 96 %). Clear: too few yet (2).'
    """
    foot = ROW * len(rows)
    areas: list[Area] = []
    words: list[Words] = list(_axis(foot))
    for number, (name, rate) in enumerate(rows):
        top = ROW * number
        figure = "too few yet" if rate.is_too_few else whole_percent(rate.share)
        words += _names(name, figure, top)
        if not rate.is_too_few:
            areas += _rate_bar(rate, top + BAR_TOP)
    grid = tuple(line for number in range(len(rows)) for line in _grid(ROW * number))
    sentence = _sentence(title, ((name, rate.words) for name, rate in rows))
    return Drawn(WIDTH, foot + FOOT, tuple(areas), grid, tuple(words), sentence)


def _grid(top: float) -> Iterable[Trace]:
    """Upright lines behind one bar, clear of the words above it."""
    high, low = top + BAR_TOP - MARK_OVER, top + BAR_TOP + BAR + MARK_OVER
    for share in QUARTERS:
        yield Trace(((_x(share), high), (_x(share), low)), Look.GRID)


def _rate_bar(rate: Rate, top: float) -> Iterable[Area]:
    left, right = _x(rate.low), _x(rate.high)
    yield Area(left, top, right - left, BAR, Look.RANGE)
    yield Area(_x(rate.share) - MARK / 2, top - MARK_OVER, MARK, BAR + 2 * MARK_OVER, Look.SHARE)


def _axis(foot: float) -> Iterable[Words]:
    for share, align in ((0.0, "start"), (0.5, "middle"), (1.0, "end")):
        yield Words(_x(share), foot + 20.0, f"{100 * share:.0f} %", Look.LABEL, align)


def trend_chart(title: str, rows: Sequence[tuple[str, Rate]]) -> Drawn:
    """Rates one after another in time: ranges upright, shares joined by a line.

    What has too few pieces is left out of the line. The words of a row are written below, as many
    of them as there is room for.

    >>> from decaljobs.craft.records.success import rate_of
    >>> chart = trend_chart("By quarter", [("Q1", rate_of(18, 2)), ("Q2", rate_of(5, 5))])
    >>> chart.sentence
    'By quarter. Q1: 90 % of 20 (73 to 96 %). Q2: 50 % of 10 (27 to 73 %).'
    """
    room = RIGHT - PLOT_LEFT
    step = room / max(1, len(rows))
    areas: list[Area] = []
    points: list[tuple[float, float]] = []
    for number, (_, rate) in enumerate(rows):
        if rate.is_too_few:
            continue
        x, half = PLOT_LEFT + step * (number + 0.5), min(BAR, step * 0.5) / 2
        high, low, share = _y(rate.high), _y(rate.low), _y(rate.share)
        areas.append(Area(x - half, high, 2 * half, low - high, Look.RANGE))
        areas.append(Area(x - half - 2, share - MARK / 2, 2 * half + 4, MARK, Look.SHARE))
        points.append((x, share))
    traces = [Trace(((PLOT_LEFT, _y(at)), (RIGHT, _y(at))), Look.GRID) for at in QUARTERS]
    traces += [Trace(tuple(points), Look.LINE)] if len(points) > 1 else []
    words = [
        Words(PLOT_LEFT - 6, _y(at) + 5, f"{100 * at:.0f} %", Look.LABEL, "end")
        for at in (0.0, 0.5, 1.0)
    ]
    words += _times([name for name, _ in rows], step)
    sentence = _sentence(title, ((name, rate.words) for name, rate in rows))
    height = PLOT_TOP + PLOT + FOOT
    return Drawn(WIDTH, height, tuple(areas), tuple(traces), tuple(words), sentence)


def _times(names: Sequence[str], step: float) -> Iterable[Words]:
    """Every so many names below the plot, so that none touches the next."""
    longest = max((len(name) for name in names), default=0) * 9.0
    every = max(1, -(-int(longest) // max(1, int(step))))
    for number, name in enumerate(names):
        if (len(names) - 1 - number) % every == 0:
            right = number == len(names) - 1 and longest > step
            x = RIGHT if right else PLOT_LEFT + step * (number + 0.5)
            align = "end" if right else "middle"
            yield Words(x, PLOT_TOP + PLOT + 22.0, name, Look.LABEL, align)


def bar_chart(title: str, rows: Sequence[Counted]) -> Drawn:
    """A bar a row, the longest across the whole width.

    >>> bar_chart("Causes", [Counted("torn", 4, "4 times")]).sentence
    'Causes. Torn: 4 times.'
    """
    most = max((row.value for row in rows), default=0) or 1.0
    areas: list[Area] = []
    words: list[Words] = []
    for number, row in enumerate(rows):
        top = ROW * number
        words += _names(row.words, row.said, top)
        if row.value > 0:
            length = (RIGHT - LEFT) * row.value / most
            areas.append(Area(LEFT, top + BAR_TOP, length, BAR, Look.BAR))
    sentence = _sentence(title, ((row.words, row.said) for row in rows))
    return Drawn(WIDTH, ROW * len(rows), tuple(areas), (), tuple(words), sentence)


def pair_chart(title: str, rows: Sequence[Pair]) -> Drawn:
    """What was asked for as an open bar, and below it what was as a full one.

    >>> pair_chart("Waits", [Pair("base", 12.0, 18.5, "12 h asked, 18.5 h lain")]).sentence
    'Waits. Base: 12 h asked, 18.5 h lain.'
    """
    most = max((value for row in rows for value in (row.asked or 0, row.real or 0)), default=0)
    areas: list[Area] = []
    words: list[Words] = []
    for number, row in enumerate(rows):
        top, half = ROW * number, BAR / 2 + 1
        words += _names(row.words, row.said, top)
        for value, down, look in ((row.asked, 0.0, Look.ASKED), (row.real, half, Look.BAR)):
            if value:
                length = (RIGHT - LEFT) * value / most
                areas.append(Area(LEFT, top + BAR_TOP + down, length, half - 1, look))
    sentence = _sentence(title, ((row.words, row.said) for row in rows))
    return Drawn(WIDTH, ROW * len(rows), tuple(areas), (), tuple(words), sentence)


def _names(name: str, figure: str, top: float) -> Iterable[Words]:
    room = LETTERS - len(figure)
    short = name if len(name) <= room else f"{name[: room - 1]}…"
    yield Words(LEFT, top + 18.0, short[:1].upper() + short[1:], Look.NAME)
    yield Words(RIGHT, top + 18.0, figure, Look.LABEL, "end")


def _x(share: float) -> float:
    return LEFT + (RIGHT - LEFT) * share


def _y(share: float) -> float:
    return PLOT_TOP + PLOT * (1.0 - share)


def _sentence(title: str, rows: Iterable[tuple[str, str]]) -> str:
    told = [f"{name[:1].upper()}{name[1:]}: {said}." for name, said in rows]
    return " ".join([f"{title}.", *told])
