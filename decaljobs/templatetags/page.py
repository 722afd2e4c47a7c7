"""What every page is put together from: fields, the way on, light or dark, pages of a list."""

from __future__ import annotations

import secrets

from django import template
from django.forms import BoundField
from django.http import HttpRequest
from django.template import Context
from django.template.defaulttags import querystring
from django.utils.html import format_html
from django.utils.safestring import SafeString

from decaljobs.forms import drawing

register = template.Library()


@register.simple_tag
def whole_field(field: BoundField, plain: bool | str = False) -> SafeString:
    """A field of a form with its label, its help and what is wrong with it."""
    return drawing.whole_field(field, plain=bool(plain))


@register.simple_tag
def form_key() -> SafeString:
    """The key of a form that logs something: sent twice with it, it is taken once."""
    return format_html('<input type="hidden" name="key" value="{}">', secrets.token_urlsafe(16))


@register.simple_tag
def here(request: HttpRequest, *starts: str) -> str:
    """Marks the way on that leads to the screen being shown."""
    match = request.resolver_match
    name = match.url_name or "" if match else ""
    return format_html(' aria-current="{}"', "page") if name.startswith(starts) else ""


@register.simple_tag
def theme(request: HttpRequest | str) -> str:
    """What marks a page as light or dark where this device was told to be one of them."""
    chosen = _theme_of(request)
    return format_html(' data-theme="{}"', chosen) if chosen else ""


@register.simple_tag
def theme_words(request: HttpRequest | str) -> str:
    """The same for the browser's own fields and bars."""
    return _theme_of(request) or "light dark"


def _theme_of(request: HttpRequest | str) -> str:
    """'light', 'dark', or '' for what the system has; a fault of ours has no request."""
    chosen = request.COOKIES.get("theme", "") if isinstance(request, HttpRequest) else ""
    return chosen if chosen in ("light", "dark") else ""


@register.simple_tag(takes_context=True)
def page_link(context: Context, key: str, number: int) -> str:
    """The address of another page of a list, with everything else that was asked kept."""
    return querystring(context, **{key: number})
