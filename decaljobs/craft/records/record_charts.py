"""The charts of the records, as plain geometry for page and paper, each beside its table.

All are narrow, so that a telephone shows them without pushing. Every bar has its figure in words.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from textwrap import wrap

from decaljobs.craft.drawings.drawn import Area, Drawn, Trace, Words
from decaljobs.craft.figures import whole_percent
from decaljobs.craft.records.success import Rate

#: Units (see drawn).
WIDTH, FOOT = 320.0, 30.0
LEFT, RIGHT = 2.0, 318.0
#: A line of a row's name, from there to the bar, the bar, and white space below it.
LINE, NAME_TO_BAR, BAR, BELOW = 20.0, 6.0, 14.0, 14.0
MARK, MARK_OVER = 4.0, 4.0
PLOT_LEFT, PLOT_TOP, PLOT = 60.0, 12.0, 170.0
#: Letters that a line of a row's name has room for beside its figure.
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
    places, foot = _places([(name, _share_said(rate)) for name, rate in rows])
    areas = [
        area
        for (_, rate), place in zip(rows, places, strict=True)
        if not rate.is_too_few
        for area in _rate_bar(rate, place.bar)
    ]
    grid = tuple(line for place in places for line in _grid(place.bar))
    words = [*_axis(foot), *(word for place in places for word in place.words)]
    sentence = _sentence(title, ((name, rate.words) for name, rate in rows))
    return Drawn(WIDTH, foot + FOOT, tuple(areas), grid, tuple(words), sentence)


def _share_said(rate: Rate) -> str:
    return "too few yet" if rate.is_too_few else whole_percent(rate.share)


def _grid(bar: float) -> Iterable[Trace]:
    """Upright lines behind one bar, clear of the words above it."""
    high, low = bar - MARK_OVER, bar + BAR + MARK_OVER
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
    places, foot = _places([(row.words, row.said) for row in rows])
    areas = tuple(
        Area(LEFT, place.bar, (RIGHT - LEFT) * row.value / most, BAR, Look.BAR)
        for row, place in zip(rows, places, strict=True)
        if row.value > 0
    )
    sentence = _sentence(title, ((row.words, row.said) for row in rows))
    return Drawn(WIDTH, foot, areas, (), _all_words(places), sentence)


def pair_chart(title: str, rows: Sequence[Pair]) -> Drawn:
    """What was asked for as an open bar, and below it what was as a full one.

    >>> pair_chart("Waits", [Pair("base", 12.0, 18.5, "12 h asked, 18.5 h lain")]).sentence
    'Waits. Base: 12 h asked, 18.5 h lain.'
    """
    most = max((value for row in rows for value in (row.asked or 0, row.real or 0)), default=0)
    places, foot = _places([(row.words, row.said) for row in rows])
    areas: list[Area] = []
    half = BAR / 2 + 1
    for row, place in zip(rows, places, strict=True):
        for value, down, look in ((row.asked, 0.0, Look.ASKED), (row.real, half, Look.BAR)):
            if value:
                length = (RIGHT - LEFT) * value / most
                areas.append(Area(LEFT, place.bar + down, length, half - 1, look))
    sentence = _sentence(title, ((row.words, row.said) for row in rows))
    return Drawn(WIDTH, foot, tuple(areas), (), _all_words(places), sentence)


@dataclass(frozen=True)
class _Place:
    """Where a row stands: its words, and the top of its bar."""

    words: tuple[Words, ...]
    bar: float


def _places(rows: Sequence[tuple[str, str]]) -> tuple[list[_Place], float]:
    """Rows of a name and a figure one below the other, and where they end.

    A long name takes several lines.
    """
    places: list[_Place] = []
    top = 0.0
    for name, figure in rows:
        lines = wrap(name[:1].upper() + name[1:], max(1, LETTERS - len(figure))) or [""]
        words = [
            Words(LEFT, top + 18.0 + LINE * number, line, Look.NAME)
            for number, line in enumerate(lines)
        ]
        words.append(Words(RIGHT, top + 18.0, figure, Look.LABEL, "end"))
        bar = top + LINE * len(lines) + NAME_TO_BAR
        places.append(_Place(tuple(words), bar))
        top = bar + BAR + BELOW
    return places, top


def _all_words(places: Iterable[_Place]) -> tuple[Words, ...]:
    return tuple(word for place in places for word in place.words)


def _x(share: float) -> float:
    return LEFT + (RIGHT - LEFT) * share


def _y(share: float) -> float:
    return PLOT_TOP + PLOT * (1.0 - share)


def _sentence(title: str, rows: Iterable[tuple[str, str]]) -> str:
    told = [f"{name[:1].upper()}{name[1:]}: {said}." for name, said in rows]
    return " ".join([f"{title}.", *told])
