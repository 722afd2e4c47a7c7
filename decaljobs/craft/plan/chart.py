"""The plan as a chart: a bar for each project over the coming weeks, as inline SVG.

Bench time is a solid block, drying a thin hatched strip, the due date a diamond, the end a
triangle: shapes tell them apart, colour only helps. Places along the time are shares of the width,
so that the whole chart stands in a window of any width and its words stay as large as they are.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta, tzinfo
from xml.sax.saxutils import escape, quoteattr

from decaljobs.craft.plan.bars import Span
from decaljobs.craft.ways import PLAIN, WEEKDAYS, Ways

#: % of the width: where the days begin, and how much of it they take.
LEFT, DAYS_WIDTH = 0.5, 97.0
#: px
ROW, HEAD, PAD = 58.0, 36.0, 12.0
BLOCK_HEIGHT, STRIP_HEIGHT = 18.0, 8.0
#: A name stands above its bars, so that a narrow window is not full of names.
NAME, LETTERS = 16.0, 36
#: Named days that a narrow window has room for; it leaves out the names between.
NARROW_NAMES = 4
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
    parts = [_HATCH, *_days(scale, height, ways)]
    for number, row in enumerate(rows):
        parts += _row(row, scale, HEAD + ROW * number)
    said = f"{len(rows)} projects over {scale.days} days; the table has the same figures"
    return (
        f'<svg class="plan-chart" role="img" aria-label={quoteattr(said)} width="100%" '
        f'height="{height:g}">'
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
    days = [scale.midnight + timedelta(days=number) for number in range(scale.days)]
    short = scale.days <= 2 * FEWEST_DAYS
    named = [number for number, day in enumerate(days) if short or day.weekday() == 0]
    every = -(-len(named) // NARROW_NAMES)
    for number, day in enumerate(days):
        x = f"{scale.x(scale.day(number)):.2f}%"
        look = "plan-week" if number in named else "plan-day"
        yield f'<line class="{look}" x1="{x}" x2="{x}" y1="{HEAD - 16:g}" y2="{height:g}"/>'
        if number in named:
            words = f"{WEEKDAYS[day.weekday()]} {day.day}"
            if not short:
                words = ways.day(day.date(), year=False).replace(f"{day.year}-", "")
            between = "" if named.index(number) % every == 0 else " between"
            place = f'x="{x}" dx="3" y="{HEAD - 22:g}"'
            yield f'<text class="plan-when{between}" {place}>{words}</text>'


def _row(row: PlanRow, scale: _Scale, top: float) -> Iterator[str]:
    middle = top + NAME + (ROW - NAME) / 2
    name = row.name if len(row.name) <= LETTERS else f"{row.name[: LETTERS - 1]}…"
    # Isolated (Unicode Annex 9): a name read from right to left turns nothing but itself.
    place = f'x="{LEFT:g}%" y="{top + NAME:g}"'
    yield f'<text class="plan-name" {place}>\u2068{escape(name)}\u2069</text>'
    for span in row.drying:
        yield _rect("plan-drying", span, scale, middle, STRIP_HEIGHT)
    for span in row.bench:
        yield _rect("plan-bench", span, scale, middle, BLOCK_HEIGHT)
    if scale.shows(row.due) and row.due:
        yield _shape("plan-due", "M0-11l7 11-7 11-7-11z", scale.x(row.due), middle)
    if scale.shows(row.end) and row.end:
        yield _shape("plan-end", "M0-9v18l-11-9z", scale.x(row.end), middle)


def _shape(look: str, path: str, x: float, middle: float) -> str:
    """A path about a point, which has a drawing of its own, since a path knows no shares."""
    place = f'x="{x:.2f}%" y="{middle:g}" overflow="visible"'
    return f'<svg {place}><path class="{look}" d="{path}"/></svg>'


def _rect(look: str, span: Span, scale: _Scale, middle: float, height: float) -> str:
    left, right = scale.x(span[0]), scale.x(span[1])
    if right <= LEFT or left >= LEFT + DAYS_WIDTH:
        return ""
    return (
        f'<rect class="{look}" x="{left:.2f}%" y="{middle - height / 2:g}" '
        f'width="{right - left:.2f}%" height="{height:g}"/>'
    )
