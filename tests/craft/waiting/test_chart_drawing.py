"""The drying chart as geometry: what it shows, and where."""

from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from decaljobs.craft.climate import Clock
from decaljobs.craft.drawings.drawn import drawn_svg
from decaljobs.craft.drying import WaitTerms
from decaljobs.craft.room.air import Air
from decaljobs.craft.waiting.chart import air_series
from decaljobs.craft.waiting.chart_drawing import FOOT, LEFT, NARROW, RIGHT, Look, air_chart
from tests.craft.airs import air_through

LONDON = ZoneInfo("Europe/London")
NOW = datetime(2026, 3, 25, 12, tzinfo=UTC)
TERMS = WaitTerms(12, 8, Clock.WATER)
HOUR = timedelta(hours=1)


def chart_of(air, terms=TERMS, **fields):
    series = air_series(terms, air, NOW - 7 * 24 * HOUR, NOW + 3 * 24 * HOUR, HOUR)
    return series, air_chart(series, terms, NOW, LONDON, **fields)


def read_air():
    """Read until now: warm by day, under 10 °C and above 85 % RH for spells."""
    moments = [NOW - k * HOUR for k in range(7 * 24 + 1)]
    day = [2 * np.pi * m.timestamp() / 86400 for m in moments]
    return air_through(
        (m, 12 + 5 * np.sin(d), 70 - 20 * np.sin(d)) for m, d in zip(moments, day, strict=True)
    )


def test_everything_lies_inside_the_drawing():
    _, chart = chart_of(read_air())
    assert chart.traces and chart.areas
    for trace in chart.traces:
        for x, y in trace.points:
            assert LEFT - 1e-6 <= x <= chart.width - RIGHT + 1e-6
            assert 0 <= y <= chart.height
    for area in chart.areas:
        assert area.x >= LEFT - 1e-6
        assert area.x + area.width <= chart.width - RIGHT + 1.0


def test_each_stretch_in_which_drying_stands_still_is_shaded():
    series, chart = chart_of(read_air())
    assert len(chart.areas) == len(series.standing) > 5
    width = chart.width - LEFT - RIGHT
    total = sum(((b - a) / HOUR for a, b in series.standing), 0.0)
    assert sum(area.width for area in chart.areas) == pytest.approx(width * total / 240, abs=8)


def test_read_and_expected_parts_meet_and_cover_the_whole():
    _, chart = chart_of(read_air())
    curves = [t for t in chart.traces if t.look in (Look.READ, Look.EXPECTED)]
    assert [t.look for t in curves] == [Look.READ, Look.EXPECTED] * 3
    for read, expected in zip(curves[::2], curves[1::2], strict=True):
        assert read.points[0][0] == pytest.approx(LEFT)
        assert read.points[-1] == expected.points[0]
        assert expected.points[-1][0] == pytest.approx(chart.width - RIGHT)


def test_a_warmer_hour_lies_higher():
    series, chart = chart_of(read_air())
    curve = next(t for t in chart.traces if t.look is Look.READ)
    heights = [y for _, y in curve.points]
    warmest = int(np.argmax(series.temperature[: len(heights)]))
    assert heights[warmest] == min(heights)


def test_days_are_local_also_over_a_change_of_clocks():
    """The clocks in London go forward on 29 March 2026 (IANA time zone database)."""
    start = datetime(2026, 3, 27, 12, tzinfo=UTC)
    series = air_series(TERMS, Air.steady(20, 50), start, start + 4 * 24 * HOUR, HOUR)
    chart = air_chart(series, TERMS, start, LONDON)
    lines = sorted({t.points[0][0] for t in chart.traces if t.points[0][0] == t.points[1][0]})
    midnights = [x for x in lines if x > LEFT]
    hours = np.diff(midnights) / (chart.width - LEFT - RIGHT) * 96
    assert hours == pytest.approx([24, 23, 24])


@pytest.mark.parametrize("clock", list(Clock))
def test_limits_are_shown_where_the_clock_knows_them(clock):
    terms = WaitTerms(12, 8, clock)
    _, chart = chart_of(read_air(), terms)
    limits = [t for t in chart.traces if t.look is Look.LIMIT]
    water = clock in (Clock.WATER, Clock.WATER_UNDER_FILM)
    assert len(limits) == (0 if clock is Clock.FIXED else 1 + water)


def test_the_sentence_tells_what_the_figures_are():
    series, chart = chart_of(read_air())
    assert f"{series.temperature.min():.0f} to {series.temperature.max():.0f} °C" in chart.sentence
    assert "of 240 hours" in chart.sentence


def test_on_a_narrow_one_days_are_named_as_far_as_they_have_room():
    for width in (NARROW, 960.0):
        _, chart = chart_of(read_air(), width=width)
        low = chart.height - FOOT
        days = [word for word in chart.words if word.y > low and word.align == "middle"]
        named = sorted(word.x for word in days)
        assert len(named) >= 3
        # 'Wed 31' in type of 16 units takes about 56.
        assert min(b - a for a, b in zip(named, named[1:], strict=False)) >= 56
        assert named[0] >= 28 and named[-1] <= width - 28


@pytest.mark.parametrize("width", [319, 4001, float("nan")])
def test_it_refuses_a_width_that_cannot_be_read(width):
    with pytest.raises(ValueError, match="320 to 4000"):
        chart_of(read_air(), width=width)


def test_the_svg_is_well_formed_and_says_itself():
    _, chart = chart_of(read_air())
    root = ElementTree.fromstring(drawn_svg(chart, "air"))  # noqa: S314 (our own drawing)
    assert root.get("role") == "img"
    assert root.get("aria-label") == chart.sentence
    parts = [child.tag for child in root]
    assert parts.count("rect") == len(chart.areas)
    assert parts.count("polyline") == len(chart.traces)
    assert parts.count("text") == len(chart.words)
    assert not any("style" in child.attrib for child in root)
