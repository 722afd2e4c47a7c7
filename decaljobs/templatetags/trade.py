"""Figures of the trade that pages tell, each from the one place that keeps it."""

from __future__ import annotations

from django import template

from decaljobs.craft.climate import REFERENCE_HUMIDITY, REFERENCE_TEMPERATURE
from decaljobs.craft.colour import GOOD_MATCH
from decaljobs.craft.film.freeplace import QR_SIDE
from decaljobs.craft.tolerance import WANTED_CHANCE
from decaljobs.craft.units import SHARP_DPI
from decaljobs.craft.ways import NO_BREAK
from decaljobs.services.squeeze.nesting import LONGEST
from decaljobs.templatetags.said import mm_short, percent

register = template.Library()


@register.simple_tag
def reference_air() -> str:
    """The air that most waits are stated for: 20 °C and 50 % RH."""
    return f"{REFERENCE_TEMPERATURE:g} °C and {REFERENCE_HUMIDITY:g} % RH"


@register.simple_tag
def longest_squeeze() -> str:
    """The longest that a squeeze takes: 40 s."""
    return f"{LONGEST:g}{NO_BREAK}s"


@register.simple_tag
def code_side() -> str:
    """The side of the QR code on film, in the reader's unit: 25 mm."""
    return mm_short(QR_SIDE)


@register.simple_tag
def sharp_dpi() -> str:
    """The resolution from which a print is sharp: 300 dpi."""
    return f"{SHARP_DPI} dpi"


@register.simple_tag
def good_match() -> str:
    """The ΔE00 under which colours match well by hand: 2."""
    return f"{GOOD_MATCH:g}"


@register.simple_tag
def wanted_chance() -> str:
    """The chance of a clean cut that a band is widened for: 95 %."""
    return percent(WANTED_CHANCE)
