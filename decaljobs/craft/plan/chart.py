"""The plan as a chart: a bar for each project over the coming weeks, as inline SVG.

Bench time is a solid block, drying a thin hatched strip, the due date a diamond, the end a
triangle: shapes tell them apart, colour only helps.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta, tzinfo
from xml.sax.saxutils import escape, quoteattr

from decaljobs.craft.plan.bars import Span
from decaljobs.craft.ways import PLAIN, WEEKDAYS, Ways

#: px
LEFT, DAYS_WIDTH, ROW, HEAD, PAD = 2.0, 1092.0, 58.0, 36.0, 12.0
BLOCK_HEIGHT, STRIP_HEIGHT, LEAST_WIDTH = 18.0, 8.0, 3.0
#: A name stands above its bars, so that a narrow window is not full of names.
NAME, LETTERS = 16.0, 36
#: Days shown: what lies later is cut off.
FEWEST_DAYS, MOST_DAYS = 7, 70


@dataclass(frozen=True, slots=True)
class PlanRow:
    """One project on the chart: stretches, end and due date in UTC, None where there is none."""

    name: str
    bench: Sequence[Span]
    drying: Sequence[Span]
    end: datetime | None
    due: datetime | None


@dataclass(frozen=True, slots=True)
class _Scale:
    """Where a moment stands: midnight of the first day is the left edge of the bars."""

    midnight: datetime
    days: int
    zone: tzinfo

    @property
    def first(self) -> datetime:
        return self.day(0)

    def day(self, number: int) -> datetime:
        """The beginning of a day on the wall clock, UTC."""
        wall = self.midnight + timedelta(days=number)
        return wall.replace(tzinfo=self.zone).astimezone(UTC)

    def x(self, moment: datetime) -> float:
        share = (moment - self.first) / (timedelta(days=1) * self.days)
        return LEFT + DAYS_WIDTH * min(1.0, max(0.0, share))

    def shows(self, moment: datetime | None) -> bool:
        return moment is not None and timedelta() <= moment - self.first <= timedelta(self.days)


def plan_chart_svg(
    rows: Sequence[PlanRow], moment: datetime, zone: tzinfo, *, ways: Ways = PLAIN
) -> str:
    """The chart from the day of an aware ``moment`` on, by the wall clock of ``zone``.

    It reaches to the last end or date, 7 to 70 days. Colours are the page's style sheet's.

    >>> from datetime import UTC
    >>> noon = datetime(2026, 1, 1, 12, tzinfo=UTC)
    >>> hours = [(noon, noon + timedelta(hours=2))]
    >>> boat = PlanRow("Boat", bench=hours, drying=[], end=None, due=noon + timedelta(days=3))
    >>> svg = plan_chart_svg([boat], noon, UTC)
    >>> [svg.count(f'class="plan-{look}"') for look in ("bench", "drying", "due", "end")]
    [1, 0, 1, 0]
    """
    scale = _scale(rows, moment, zone)
    height = HEAD + ROW * len(rows) + PAD
    width = LEFT + DAYS_WIDTH + PAD
    parts = [_HATCH, *_days(scale, height, ways)]
    for number, row in enumerate(rows):
        parts += _row(row, scale, HEAD + ROW * number)
    said = f"{len(rows)} projects over {scale.days} days; the table has the same figures"
    size = f'width="{width:g}" height="{height:g}" viewBox="0 0 {width:g} {height:g}"'
    return (
        f'<svg class="plan-chart" role="img" aria-label={quoteattr(said)} {size}>'
        f"{''.join(parts)}</svg>"
    )


_HATCH = (
    '<defs><pattern id="plan-hatch" width="6" height="6" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><line class="plan-hatch" y2="6"/></pattern></defs>'
)


def _scale(rows: Sequence[PlanRow], moment: datetime, zone: tzinfo) -> _Scale:
    midnight = datetime.combine(moment.astimezone(zone).date(), time())
    known = [when for row in rows for when in (row.end, row.due) if when]
    last = max([*known, moment]).astimezone(zone).date()
    days = (last - midnight.date()).days + 1
    return _Scale(midnight, min(MOST_DAYS, max(FEWEST_DAYS, days)), zone)


def _days(scale: _Scale, height: float, ways: Ways) -> Iterator[str]:
    """A line for each midnight; days are named, in a longer plan only each Monday."""
    for number in range(scale.days):
        day = scale.midnight + timedelta(days=number)
        x = scale.x(scale.day(number))
        named = scale.days <= 2 * FEWEST_DAYS or day.weekday() == 0
        look = "plan-week" if named else "plan-day"
        yield f'<line class="{look}" x1="{x:.1f}" x2="{x:.1f}" y1="{HEAD - 16:g}" y2="{height:g}"/>'
        if named:
            words = f"{WEEKDAYS[day.weekday()]} {day.day}"
            if scale.days > 2 * FEWEST_DAYS:
                words = ways.day(day.date(), year=False).replace(f"{day.year}-", "")
            yield f'<text class="plan-when" x="{x + 3:.1f}" y="{HEAD - 22:g}">{words}</text>'


def _row(row: PlanRow, scale: _Scale, top: float) -> Iterator[str]:
    middle = top + NAME + (ROW - NAME) / 2
    name = row.name if len(row.name) <= LETTERS else f"{row.name[: LETTERS - 1]}…"
    # Isolated (Unicode Annex 9): a name read from right to left turns nothing but itself.
    place = f'x="{LEFT:g}" y="{top + NAME:g}"'
    yield f'<text class="plan-name" {place}>\u2068{escape(name)}\u2069</text>'
    for span in row.drying:
        yield _rect("plan-drying", span, scale, middle, STRIP_HEIGHT)
    for span in row.bench:
        yield _rect("plan-bench", span, scale, middle, BLOCK_HEIGHT)
    if scale.shows(row.due) and row.due:
        x = scale.x(row.due)
        yield f'<path class="plan-due" d="M{x:.1f} {middle - 11:g}l7 11-7 11-7-11z"/>'
    if scale.shows(row.end) and row.end:
        x = scale.x(row.end)
        yield f'<path class="plan-end" d="M{x:.1f} {middle - 9:g}v18l-11-9z"/>'


def _rect(look: str, span: Span, scale: _Scale, middle: float, height: float) -> str:
    left, right = scale.x(span[0]), scale.x(span[1])
    if right <= LEFT or left >= LEFT + DAYS_WIDTH:
        return ""
    return (
        f'<rect class="{look}" x="{left:.1f}" y="{middle - height / 2:g}" '
        f'width="{max(LEAST_WIDTH, right - left):.1f}" height="{height:g}"/>'
    )
