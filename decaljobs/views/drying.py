"""The Drying page: the rooms' air, its chart, and the wait rules."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_GET

from decaljobs.craft.drawings.drawn import Drawn, drawn_svg
from decaljobs.craft.units import paper
from decaljobs.craft.waiting.words import rate_words
from decaljobs.craft.waits import WaitKind
from decaljobs.forms.rooms import ChartForm, ReadingForm
from decaljobs.models import Room, WaitRule
from decaljobs.pdf.air_chart import ChartSheet, drying_chart_pdf
from decaljobs.services.drying.air import Airs, airs_of
from decaljobs.services.drying.air_words import air_words, room_words
from decaljobs.services.drying.charts import ChartRow, RoomChart, room_chart
from decaljobs.services.words import say_moment
from decaljobs.shown import for_everybody
from decaljobs.views.pages import draw, pdf_answer


@dataclass(frozen=True)
class RoomLine:
    """One room on the page: its air, and what an hour counts in it now."""

    room: Room
    air: str
    rate: str


@dataclass(frozen=True)
class Asked:
    """What the chart is drawn for."""

    room: Room
    rule: WaitRule
    rules: list[WaitRule]
    form: ChartForm


@require_GET
def drying(request: HttpRequest) -> HttpResponse:
    """Rooms, chart and rules."""
    moment, airs = timezone.now(), airs_of(request)
    asked = _asked(request, airs)
    drawn = _chart(asked, airs, moment)
    context = {
        "form": asked.form,
        "room": asked.room,
        "rule": asked.rule,
        "rules": asked.rules,
        "rooms": [_line(room, asked.rule, airs, moment) for room in airs.rooms.values()],
        "chart": drawn.chart,
        "drawing": _svg(drawn.chart),
        "narrow_drawing": _svg(drawn.narrow),
        "rows": _table_rows(drawn.rows, moment),
        "reading_form": ReadingForm(),
        "moment": moment,
    }
    return draw(request, "drying", context)


@require_GET
@for_everybody()
def chart(request: HttpRequest) -> HttpResponse:
    """The same chart on paper."""
    moment, airs = timezone.now(), airs_of(request)
    asked = _asked(request, airs)
    sheet = ChartSheet(
        room=asked.room.name,
        air=room_words(asked.room, airs, moment),
        wait=str(asked.rule),
        printed_at=say_moment(moment, now=moment, near=False),
        chart=_chart(asked, airs, moment).chart,
    )
    return pdf_answer(drying_chart_pdf(sheet, paper("A4")), "drying.pdf")


def _svg(chart: Drawn) -> SafeString:
    return mark_safe(drawn_svg(chart, "air"))  # noqa: S308 (drawn and escaped there)


def _table_rows(rows: list[ChartRow], moment: datetime) -> SafeString:
    """The hours of a chart, without a template, which takes six times as long over them."""
    drawn = "".join(_table_row(row, moment) for row in rows)
    return mark_safe(drawn)  # noqa: S308 (figures, and words of our own)


def _table_row(row: ChartRow, moment: datetime) -> str:
    rate = f"{row.rate:.2f}" if row.rate else "stands still"
    return (
        f'<tr><td class="whole">{say_moment(row.at, now=moment)}</td>'
        f'<td class="number">{row.temperature:z.1f}</td><td class="number">{row.humidity:.0f}</td>'
        f'<td class="number">{rate}</td><td>{row.how}</td></tr>'
    )


def _asked(request: HttpRequest, airs: Airs) -> Asked:
    rules = {rule.kind: rule for rule in WaitRule.objects.all()}
    form = ChartForm(request.GET, rooms=list(airs.rooms.values()))
    room = airs.room(int(form.asked("room", str(_most_telling(airs).pk))))
    rule = rules[form.asked("wait", WaitKind.BASE_CURED.value)]
    shown = ChartForm({"room": room.pk, "wait": rule.kind}, rooms=list(airs.rooms.values()))
    return Asked(room, rule, list(rules.values()), shown)


def _chart(asked: Asked, airs: Airs, moment: datetime) -> RoomChart:
    return room_chart(room=asked.room, rule=asked.rule, airs=airs, moment=moment)


def _most_telling(airs: Airs) -> Room:
    """The usual room, unless it was never read and another one was."""
    read = [room for room in airs.rooms.values() if room.read_until is not None]
    if airs.default.read_until is not None or not read:
        return airs.default
    return max(read, key=lambda room: room.read_until or 0)


def _line(room: Room, rule: WaitRule, airs: Airs, moment: datetime) -> RoomLine:
    now = airs.of(room.pk, moment).at(moment)
    rate = rate_words(rule.terms, now) or "an hour counts 1"
    return RoomLine(room, air_words(room, airs, moment), rate)
