"""Django's `url`, its addresses remembered: a page names dozens, and each takes a search."""

from __future__ import annotations

from django import template
from django.template import Context
from django.template.base import Parser, Token
from django.template.defaulttags import URLNode
from django.template.defaulttags import url as find_out
from django.utils.html import conditional_escape

from decaljobs.links import address

register = template.Library()


class Address(URLNode):
    """An address written where it stands; one that is given a name is found as ever."""

    def render(self, context: Context) -> str:
        if self.kwargs or self.asvar:
            return super().render(context)
        name, *parts = (part.resolve(context) for part in (self.view_name, *self.args))
        return conditional_escape(address(name, *parts))


@register.tag
def url(parser: Parser, token: Token) -> Address:
    """The address of a page by its name, as Django's own tag takes it."""
    told = find_out(parser, token)
    return Address(told.view_name, told.args, told.kwargs, told.asvar)
