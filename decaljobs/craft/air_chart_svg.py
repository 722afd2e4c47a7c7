"""The drying chart as inline SVG, coloured by the page's style sheet."""

from __future__ import annotations

from xml.sax.saxutils import escape, quoteattr

from decaljobs.craft.air_chart import AirChart, Area, Trace, Words


def air_chart_svg(chart: AirChart) -> str:
    """The chart as inline SVG, one unit to the pixel, coloured by the page's style sheet.

    >>> from decaljobs.craft.air_chart import Look
    >>> chart = AirChart(40, 20, (), (Trace(((0, 10), (40, 10)), Look.READ),), (), "20 °C")
    >>> svg = air_chart_svg(chart)
    >>> 'aria-label="20 °C"' in svg, '<polyline class="air-read" points="0,10 40,10"/>' in svg
    (True, True)
    """
    box = f'viewBox="0 0 {_n(chart.width)} {_n(chart.height)}"'
    size = f'width="{_n(chart.width)}" height="{_n(chart.height)}"'
    parts = [
        *(_svg_area(area) for area in chart.areas),
        *(_svg_trace(trace) for trace in chart.traces),
        *(_svg_words(words) for words in chart.words),
    ]
    said = quoteattr(chart.sentence)
    return (
        f'<svg class="air-chart" role="img" aria-label={said} {size} {box}>{"".join(parts)}</svg>'
    )


def _n(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _svg_area(area: Area) -> str:
    return (
        f'<rect class="air-{area.look}" x="{_n(area.x)}" y="{_n(area.y)}" '
        f'width="{_n(area.width)}" height="{_n(area.height)}"/>'
    )


def _svg_trace(trace: Trace) -> str:
    points = " ".join(f"{_n(x)},{_n(y)}" for x, y in trace.points)
    return f'<polyline class="air-{trace.look}" points="{points}"/>'


def _svg_words(words: Words) -> str:
    return (
        f'<text class="air-{words.look}" x="{_n(words.x)}" y="{_n(words.y)}" '
        f'text-anchor="{words.align}">{escape(words.text)}</text>'
    )
