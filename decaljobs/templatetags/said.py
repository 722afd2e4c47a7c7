"""Lengths, moments, amounts and figures, as the reader wants them said."""

from __future__ import annotations

import re
from datetime import date, datetime, time
from decimal import Decimal

from django import template
from django.utils import timezone

from decaljobs.craft.figures import whole_percent
from decaljobs.craft.stores.supplies import amount_in_words
from decaljobs.craft.units import format_scale
from decaljobs.craft.ways import NO_BREAK
from decaljobs.services.words import say_clock, say_date, say_figure, say_full, say_moment, until
from decaljobs.shown import ways

register = template.Library()
#: A figure and its unit, which stay on one line.
UNITS = re.compile(r"(\d) (%|mm\b|s\b|°C)")


@register.filter
def say(when: datetime | None, now: datetime) -> str:
    """A moment as it is said at the bench, in the workshop's zone."""
    return say_moment(when, now=now) if when else ""


@register.filter
def over_at(ends: datetime | None, now: datetime) -> str:
    """When a wait is over: today 21:41."""
    return until(ends, now)


@register.filter
def amount(number: Decimal, unit: str) -> str:
    """An amount of a supply: 14.5 ml, 8 sheets."""
    return amount_in_words(number, unit)


@register.filter
def scale(ratio: Decimal) -> str:
    """A scale as it is written: 1:76.2."""
    return format_scale(ratio)


@register.filter
def mm(length: float | Decimal) -> str:
    """A length in mm as the reader wants it: 24.0 mm, 0.945 in."""
    return ways().length(length)


@register.filter
def mm_short(length: float | Decimal) -> str:
    """The same to the hundredth of a mm and without idle zeros: 7 mm, 0.2756 in."""
    return f"{ways().short(length)}{NO_BREAK}{ways().unit}"


@register.simple_tag
def size_words(width_mm: float | Decimal, height_mm: float | Decimal) -> str:
    """Two sides as the reader wants them: 210 × 297 mm."""
    return ways().size(width_mm, height_mm)


@register.simple_tag
def unit() -> str:
    """The reader's unit of lengths: mm or in."""
    return ways().unit


@register.simple_tag
def unit_mm() -> str:
    """The millimetres of the reader's unit: 1 or 25.4."""
    return str(ways().to_mm(Decimal(1)))


@register.filter
def in_ways(sentence: str) -> str:
    """A sentence of the trade's own with its lengths in the reader's unit, figures beside units."""
    return UNITS.sub(rf"\1{NO_BREAK}\2", ways().sentence(sentence))


@register.filter
def day(when: date | datetime | None) -> str:
    """A date as the reader writes it: Thu 3 Dec 2026."""
    return say_date(_day_of(when)) if when else ""


@register.filter
def short_day(when: date | datetime | None) -> str:
    """The same without its weekday: 3 Dec 2026."""
    return say_date(_day_of(when), weekday=False) if when else ""


def _day_of(when: date | datetime) -> date:
    return timezone.localtime(when).date() if isinstance(when, datetime) else when


@register.filter
def clock(when: time | datetime | None) -> str:
    """A time of day as the reader writes it: 21:40, 9:40 pm."""
    if isinstance(when, datetime):
        return say_clock(when)
    return ways().clock(when) if when else ""


@register.filter
def moment_full(when: datetime | None) -> str:
    """A date and time of day: Thu 3 Dec 2026 21:40."""
    return say_full(when) if when else ""


@register.filter
def figure(value: float | Decimal) -> str:
    """A figure to two decimals at most, without idle zeros: 12, 7.5."""
    return say_figure(value)


@register.filter
def fixed(value: float, places: int) -> str:
    """A figure to so many decimals, for tables: `floatformat` takes twenty times as long."""
    return f"{value:z.{places}f}"


@register.filter
def half(value: float) -> str:
    """Half a figure, to two decimals at most: where the middle of a length is."""
    return figure(value / 2)


@register.filter
def percent(share: float) -> str:
    """A share of one as whole percents, never rounded up to certainty: 99 %, 'under 1 %'."""
    return whole_percent(share).replace(" %", f"{NO_BREAK}%")
