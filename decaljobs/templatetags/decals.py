"""A decal on a page: the cut through its film, its stage and build in the trade's words."""

from __future__ import annotations

from datetime import datetime

from django import template
from django.template import Context
from django.utils.safestring import SafeString, mark_safe

from decaljobs.craft.stages import Build
from decaljobs.models import Decal
from decaljobs.services.bench.drawings import section_of
from decaljobs.services.drying.air import airs_of

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
def build_words(build: str) -> str:
    """A build's name in the trade's words."""
    return Build(build).words
