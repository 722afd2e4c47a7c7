"""What templates need beyond Django: the section drawing, moments in words, figures."""

from __future__ import annotations

import secrets
from datetime import datetime
from decimal import Decimal

from django import template
from django.forms import BoundField, CheckboxInput
from django.http import HttpRequest
from django.template import Context
from django.template.defaulttags import querystring
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from decaljobs.craft.stages import Build, Stage
from decaljobs.craft.units import format_scale
from decaljobs.models import Decal
from decaljobs.services.air import airs_of
from decaljobs.services.drawings import section_of
from decaljobs.services.words import say_moment

register = template.Library()


@register.simple_tag(takes_context=True)
def section_drawing(context: Context, decal: Decal, moment: datetime) -> SafeString:
    """The cut through the film of a decal; fetch its pieces and their sheets beforehand."""
    drawn = section_of(decal, moment, airs_of(context["request"]))
    return mark_safe(drawn)  # noqa: S308 (drawn by ourselves, escaped there)


@register.simple_tag(takes_context=True)
def section_drawing_large(context: Context, decal: Decal, moment: datetime) -> SafeString:
    """The same cut, large and with its layers named."""
    drawn = section_of(decal, moment, airs_of(context["request"]), large=True)
    return mark_safe(drawn)  # noqa: S308


@register.filter
def say(when: datetime | None, now: datetime) -> str:
    """A moment as it is said at the bench, in the workshop's zone."""
    return say_moment(when, now=now) if when else ""


@register.filter
def stage_words(stage: str) -> str:
    """A stage's name in the trade's words."""
    return Stage(stage).words


@register.filter
def build_words(build: str) -> str:
    """A build's name in the trade's words."""
    return Build(build).words


@register.filter
def scale(ratio: Decimal) -> str:
    """A scale as it is written: 1:76.2."""
    return format_scale(ratio)


@register.filter
def mm(length: float | Decimal) -> str:
    """A length in millimetres to the tenth: 24.0 mm."""
    return f"{length:.1f}\u00a0mm"


@register.filter
def figure(value: float | Decimal) -> str:
    """A figure to two decimals at most, without idle zeros: 12, 7.5."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


@register.filter
def half(value: float) -> str:
    """Half a figure, to two decimals at most: where the middle of a length is."""
    return figure(value / 2)


@register.filter
def is_tick(field: BoundField) -> bool:
    """Whether a field is one tick box, whose words stand behind it."""
    return isinstance(field.field.widget, CheckboxInput)


@register.simple_tag
def here(request: HttpRequest, *starts: str) -> str:
    """Marks the way on that leads to the screen being shown."""
    match = request.resolver_match
    name = match.url_name or "" if match else ""
    return format_html(' aria-current="{}"', "page") if name.startswith(starts) else ""


@register.simple_tag
def form_key() -> SafeString:
    """The key of a form that logs something: sent twice with it, it is taken once."""
    return format_html('<input type="hidden" name="key" value="{}">', secrets.token_urlsafe(16))


@register.simple_tag(takes_context=True)
def page_link(context: Context, key: str, number: int) -> str:
    """The address of another page of a list, with everything else that was asked kept."""
    return querystring(context, **{key: number})


@register.simple_tag
def percent(share: float) -> str:
    """A share of one as whole percents, never rounded up to certainty: 99 %, 'under 1 %'."""
    if 0 < share < 0.01:
        return "under 1\u00a0%"
    return f"{min(int(share * 100 + 0.5), 99 if share < 1 else 100)}\u00a0%"
