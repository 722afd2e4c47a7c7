"""The charts of the records as templates show them."""

from __future__ import annotations

from django import template
from django.utils.safestring import SafeString, mark_safe

from decaljobs.craft.drawings.drawn import Drawn, drawn_svg

register = template.Library()


@register.filter
def record_svg(chart: Drawn) -> SafeString:
    """A chart of the records as inline SVG."""
    return mark_safe(drawn_svg(chart, "record"))  # noqa: S308 (drawn by ourselves, escaped there)
