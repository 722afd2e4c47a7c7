"""The drying chart as inline SVG, coloured by the page's style sheet."""

from __future__ import annotations

from decaljobs.craft.air_chart import AirChart
from decaljobs.craft.drawn import drawn_svg


def air_chart_svg(chart: AirChart) -> str:
    """The chart as inline SVG, one unit to the pixel, coloured by the page's style sheet.

    >>> from decaljobs.craft.air_chart import Look
    >>> from decaljobs.craft.drawn import Trace
    >>> chart = AirChart(40, 20, (), (Trace(((0, 10), (40, 10)), Look.READ),), (), "20 °C")
    >>> svg = air_chart_svg(chart)
    >>> 'aria-label="20 °C"' in svg, '<polyline class="air-read" points="0,10 40,10"/>' in svg
    (True, True)
    """
    return drawn_svg(chart, "air")
