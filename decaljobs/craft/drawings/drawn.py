"""A drawing as plain geometry, rendered by the page as SVG and by the paper in its own way.

The origin is at the top left; a unit is a pixel on the page. Looks are words that the page's style
sheet and the paper each know.
"""

from __future__ import annotations

from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

from decaljobs.craft.figures import short

#: Height of the type, units.
LETTER = 16.0


@dataclass(frozen=True)
class Area:
    """A filled rectangle in units from the top left."""

    x: float
    y: float
    width: float
    height: float
    look: str


@dataclass(frozen=True)
class Trace:
    """A line through points in units from the top left."""

    points: tuple[tuple[float, float], ...]
    look: str


@dataclass(frozen=True)
class Words:
    """A line of type on its base line, in units; align says which point of it lies at x."""

    x: float
    y: float
    text: str
    look: str
    align: str = "start"


@dataclass(frozen=True)
class Drawn:
    """The drawing: its size in units, areas below, lines, words, and itself in one sentence."""

    width: float
    height: float
    areas: tuple[Area, ...]
    traces: tuple[Trace, ...]
    words: tuple[Words, ...]
    sentence: str


def drawn_svg(drawn: Drawn, family: str) -> str:
    """A drawing as inline SVG; its classes are the family's name and the look's.

    >>> line = Drawn(10, 4, (Area(0, 1, 5, 2, "bar"),), (), (), "half & half")
    >>> print(drawn_svg(line, "record"))
    <svg class="record-chart" role="img" aria-label="half &amp; half" width="10" height="4" \
viewBox="0 0 10 4"><rect class="record-bar" x="0" y="1" width="5" height="2"/></svg>
    """
    width, height = _n(drawn.width), _n(drawn.height)
    parts = [
        *(_svg_area(area, family) for area in drawn.areas),
        *(_svg_trace(trace, family) for trace in drawn.traces),
        *(_svg_words(words, family) for words in drawn.words),
    ]
    return (
        f'<svg class="{family}-chart" role="img" aria-label={quoteattr(drawn.sentence)} '
        f'width="{width}" height="{height}" viewBox="0 0 {width} {height}">{"".join(parts)}</svg>'
    )


def _n(value: float) -> str:
    return short(value, 1)


def _svg_area(area: Area, family: str) -> str:
    return (
        f'<rect class="{family}-{area.look}" x="{_n(area.x)}" y="{_n(area.y)}" '
        f'width="{_n(area.width)}" height="{_n(area.height)}"/>'
    )


def _svg_trace(trace: Trace, family: str) -> str:
    points = " ".join(f"{_n(x)},{_n(y)}" for x, y in trace.points)
    return f'<polyline class="{family}-{trace.look}" points="{points}"/>'


def _svg_words(words: Words, family: str) -> str:
    return (
        f'<text class="{family}-{words.look}" x="{_n(words.x)}" y="{_n(words.y)}" '
        f'text-anchor="{words.align}">{escape(words.text)}</text>'
    )
