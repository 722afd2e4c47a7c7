"""The drying chart of a room: a week back and three days ahead."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone

from decaljobs.craft.drawings.drawn import Drawn
from decaljobs.craft.waiting.chart import AirSeries, air_series
from decaljobs.craft.waiting.chart_drawing import NARROW, WIDTH, air_chart
from decaljobs.models import Room, WaitRule
from decaljobs.services.drying.air import Airs
from decaljobs.shown import ways

BACK, AHEAD = timedelta(days=7), timedelta(days=3)
EVERY = timedelta(hours=1)


@dataclass(frozen=True)
class ChartRow:
    """One line of the table beside the chart: the same figures."""

    at: datetime
    temperature: float
    humidity: float
    rate: float
    how: str


@dataclass(frozen=True, eq=False)
class RoomChart:
    """The chart of a room for one wait, the same for a telephone, and its figures."""

    chart: Drawn
    narrow: Drawn
    series: AirSeries

    @property
    def rows(self) -> list[ChartRow]:
        """The chart's own figures, hour by hour."""
        series = self.series
        columns = zip(
            series.moments,
            series.temperature.tolist(),
            series.humidity.tolist(),
            series.rate.tolist(),
            series.expected.tolist(),
            strict=True,
        )
        return [
            ChartRow(at, temperature, humidity, rate, "expected" if expected else "read")
            for at, temperature, humidity, rate, expected in columns
        ]


def room_chart(*, room: Room, rule: WaitRule, airs: Airs, moment: datetime) -> RoomChart:
    """The chart of a room by the clock of a wait rule, at whole hours."""
    hour = moment.replace(minute=0, second=0, microsecond=0)
    start, end = hour - BACK, hour + AHEAD
    series = air_series(rule.terms, airs.of(room.pk, start), start, end, EVERY)
    zone = timezone.get_current_timezone()
    drawn = [
        air_chart(series, rule.terms, moment, zone, width=width, ways=ways())
        for width in (WIDTH, NARROW)
    ]
    return RoomChart(drawn[0], drawn[1], series)
