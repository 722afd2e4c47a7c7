"""The drying chart: a room's air and what an hour counts, as plain geometry for page and paper.

Three panels share one axis of time: temperature, humidity, counting rate. The origin is at the
top left; a unit is a pixel on the page. The words are placed here, so that both renderings tell
the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from enum import StrEnum

import numpy as np

from decaljobs.craft.arrays import Numbers
from decaljobs.craft.climate import DAMPEST, FASTEST, WATER_CLOCKS, Clock
from decaljobs.craft.drawings.drawn import LETTER, Area, Drawn, Trace, Words
from decaljobs.craft.drying import WaitTerms
from decaljobs.craft.moments import utc
from decaljobs.craft.waiting.chart import AirSeries
from decaljobs.craft.ways import PLAIN, WEEKDAYS, Ways

LEFT, RIGHT, TOP, FOOT = 56.0, 12.0, 30.0, 34.0
PANEL, BETWEEN = 96.0, 40.0
WIDTH = 960.0
#: Wide enough for a telephone held upright, where the titles are said shorter.
NARROW = 340.0


class Look(StrEnum):
    """How a part of the chart is drawn; the page's style sheet and the paper each know it."""

    STILL = "still"
    GRID = "grid"
    FRAME = "frame"
    LIMIT = "limit"
    NOW = "now"
    READ = "read"
    EXPECTED = "expected"
    TITLE = "title"
    LABEL = "label"


@dataclass(frozen=True)
class _Panel:
    """One of the three panels: what it shows, from which to which value, and its limit line."""

    title: str
    values: Numbers
    low: float
    high: float
    step: float
    top: float
    limit: tuple[float, str] | None = None

    def y(self, value: float) -> float:
        return self.top + PANEL * (1.0 - (value - self.low) / (self.high - self.low))


def air_chart(
    series: AirSeries,
    terms: WaitTerms,
    now: datetime,
    zone: tzinfo,
    *,
    width: float = WIDTH,
    ways: Ways = PLAIN,
) -> Drawn:
    """The chart of a series of two moments or more, told at an aware `now` by the zone's clock.

    Width in units, 320 to 4000; raises ValueError outside, or for a naive moment.

    >>> from datetime import UTC
    >>> from decaljobs.craft.room.air import Air
    >>> from decaljobs.craft.waiting.chart import air_series
    >>> noon = datetime(2026, 1, 1, 12, tzinfo=UTC)
    >>> terms, day = WaitTerms(12, 8, Clock.WATER), timedelta(days=1)
    >>> series = air_series(terms, Air.steady(20, 90), noon - day, noon + day, day / 24)
    >>> air_chart(series, terms, noon, UTC).sentence
    'From Wed 31 Dec to Fri 2 Jan: 20 to 20 °C, 90 to 90 % RH, an hour counts 0 to 0; drying \
stands still for 48 of 48 hours.'
    """
    if not 320.0 <= width <= 4000.0:
        raise ValueError("a chart is 320 to 4000 wide")
    now = utc(now)
    across = _Across(series.moments[0], series.moments[-1], width)
    panels = _panels(series, terms, short=width < WIDTH / 2)
    height = panels[-1].top + PANEL + FOOT
    frames = [_frame(panel, across) for panel in panels]
    traces = [trace for panel in panels for trace in _grid(panel, across, zone)]
    traces += [*frames, *_limits(panels, across)]
    traces += [trace for panel in panels for trace in _curves(panel, series, across)]
    words = [word for panel in panels for word in _panel_words(panel, across)]
    words += _day_words(across, height, zone)
    if across.start <= now <= across.end:
        x = across.x(now)
        traces.append(Trace(((x, TOP - 10.0), (x, height - FOOT)), Look.NOW))
        words.append(Words(x, TOP - 14.0, "now", Look.LABEL, "middle"))
    return Drawn(
        width,
        height,
        tuple(_still(series, panels, across)),
        tuple(traces),
        tuple(words),
        _sentence(series, zone, ways),
    )


@dataclass(frozen=True)
class _Across:
    """The axis of time."""

    start: datetime
    end: datetime
    width: float

    def x(self, moment: datetime) -> float:
        share = (moment - self.start) / (self.end - self.start)
        return LEFT + float(share) * (self.width - LEFT - RIGHT)

    def midnights(self, zone: tzinfo) -> list[datetime]:
        """Local midnights between the ends, in UTC."""
        day = self.start.astimezone(zone).date()
        found: list[datetime] = []
        while True:
            day += timedelta(days=1)
            midnight = utc(datetime(day.year, day.month, day.day, tzinfo=zone))
            if midnight > self.end:
                return found
            found.append(midnight)


def _panels(series: AirSeries, terms: WaitTerms, *, short: bool) -> list[_Panel]:
    still = "still" if short else "stands still"
    tops = [TOP + place * (PANEL + BETWEEN) + 12.0 for place in range(3)]
    cold = None
    if terms.clock is not Clock.FIXED:
        minimum = terms.film_forming_minimum
        cold = (minimum, f"{still} under {minimum:g} °C")
    damp = None
    if terms.clock in WATER_CLOCKS:
        damp = (DAMPEST, f"{still} above {DAMPEST:g} %")
    return [
        _panel("Temperature, °C", series.temperature, 5.0, tops[0], cold),
        _panel("Humidity, % RH", series.humidity, 20.0, tops[1], damp),
        _Panel("An hour counts, h", series.rate, 0.0, FASTEST[terms.clock], 0.5, tops[2]),
    ]


def _panel(
    title: str, values: Numbers, step: float, top: float, limit: tuple[float, str] | None
) -> _Panel:
    """A panel whose scale runs between whole steps round its values, and its limit if near."""
    low, high = float(values.min()), float(values.max())
    if limit is not None and low - step <= limit[0] <= high + step:
        low, high = min(low, limit[0]), max(high, limit[0])
    else:
        limit = None
    low, high = np.floor(low / step) * step, np.ceil(high / step) * step
    return _Panel(title, values, low, high if high > low else low + step, step, top, limit)


def _frame(panel: _Panel, across: _Across) -> Trace:
    foot = panel.top + PANEL
    return Trace(((LEFT, foot), (across.width - RIGHT, foot)), Look.FRAME)


def _ticks(panel: _Panel) -> list[float]:
    count = round((panel.high - panel.low) / panel.step)
    every = 1 if count <= 3 else 2
    return [panel.low + place * panel.step for place in range(0, count + 1, every)]


def _grid(panel: _Panel, across: _Across, zone: tzinfo) -> Iterable[Trace]:
    for value in _ticks(panel):
        y = panel.y(value)
        yield Trace(((LEFT, y), (across.width - RIGHT, y)), Look.GRID)
    for midnight in across.midnights(zone):
        x = across.x(midnight)
        yield Trace(((x, panel.top), (x, panel.top + PANEL)), Look.GRID)


def _limits(panels: Sequence[_Panel], across: _Across) -> Iterable[Trace]:
    for panel in panels:
        if panel.limit is not None:
            y = panel.y(panel.limit[0])
            yield Trace(((LEFT, y), (across.width - RIGHT, y)), Look.LIMIT)


def _curves(panel: _Panel, series: AirSeries, across: _Across) -> Iterable[Trace]:
    """The values, in stretches read and stretches expected that meet at their ends."""
    points = [
        (across.x(moment), panel.y(float(value)))
        for moment, value in zip(series.moments, panel.values, strict=True)
    ]
    edges = np.flatnonzero(np.diff(series.expected.astype(np.int8))) + 1
    firsts = [0, *edges.tolist()]
    for first, behind in zip(firsts, [*edges.tolist(), len(points)], strict=True):
        look = Look.EXPECTED if series.expected[first] else Look.READ
        stretch = points[max(first - 1, 0) : behind]
        if len(stretch) > 1:
            yield Trace(tuple(stretch), look)


def _panel_words(panel: _Panel, across: _Across) -> Iterable[Words]:
    limit = f" ({panel.limit[1]})" if panel.limit else ""
    yield Words(LEFT, panel.top - 10.0, panel.title + limit, Look.TITLE)
    for value in _ticks(panel):
        yield Words(LEFT - 8.0, panel.y(value) + LETTER * 0.34, f"{value:g}", Look.LABEL, "end")


def _day_words(across: _Across, height: float, zone: tzinfo) -> Iterable[Words]:
    """Days under their middles: all, or as many as have room."""
    room, named = LETTER * 3.8, 0.0
    edges = [across.start, *across.midnights(zone), across.end]
    for begin, end in zip(edges, edges[1:], strict=False):
        left, right = across.x(begin), across.x(end)
        middle = (left + right) / 2
        is_whole = end - begin >= timedelta(hours=22)
        clear = named + room <= middle <= across.width - room / 2
        if clear and (is_whole or right - left >= room):
            named = middle
            yield Words(middle, height - 10.0, _day(begin, zone), Look.LABEL, "middle")


def _day(moment: datetime, zone: tzinfo) -> str:
    local = moment.astimezone(zone)
    return f"{WEEKDAYS[local.weekday()]} {local.day}"


def _still(series: AirSeries, panels: Sequence[_Panel], across: _Across) -> Iterable[Area]:
    """Bands over all three panels wherever drying stands still; at least a hair wide."""
    top, foot = panels[0].top, panels[-1].top + PANEL
    for begin, end in series.standing:
        left = across.x(begin)
        yield Area(left, top, max(across.x(end) - left, 1.0), foot - top, Look.STILL)


def _sentence(series: AirSeries, zone: tzinfo, ways: Ways) -> str:
    first, last = series.moments[0], series.moments[-1]
    days = [ways.day(at.astimezone(zone).date(), year=False) for at in (first, last)]
    hour = timedelta(hours=1)
    still = sum(((end - begin) / hour for begin, end in series.standing), 0.0)
    spans = [
        f"{values.min():z.{digits}f} to {values.max():z.{digits}f}"
        for values, digits in ((series.temperature, 0), (series.humidity, 0), (series.rate, 2))
    ]
    rate = spans[2].replace(".00", "")
    return (
        f"From {days[0]} to {days[1]}: {spans[0]} °C, {spans[1]} % RH, "
        f"an hour counts {rate}; drying stands still for {still:.0f} of "
        f"{(last - first) / hour:.0f} hours."
    )
