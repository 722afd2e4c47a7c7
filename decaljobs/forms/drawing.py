"""Drawing the fields of forms without templates: a page with many fields in half the time.

What comes out is to the letter what Django's own templates make; kinds of field not named here
are left to those.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from django.forms import BoundField, CheckboxInput
from django.forms.renderers import DjangoTemplates
from django.utils.html import conditional_escape
from django.utils.safestring import SafeString, mark_safe

Drawn = dict[str, Any]


class FieldsDrawn(DjangoTemplates):
    """Django's way of drawing forms, but for the usual fields."""

    def render(self, template_name: str, context: Mapping[str, Any], request: Any = None) -> str:
        if template_name in ERRORS and not context["errors"]:
            return ""
        draw = KINDS.get(template_name)
        if draw is None:
            return super().render(template_name, context, request)
        return draw(context["widget"]).strip()


def _attributes(widget: Drawn) -> str:
    return "".join(
        f" {name}" if value is True else f' {name}="{_text(value)}"'
        for name, value in widget["attrs"].items()
        if value is not False
    )


def _text(value: object) -> str:
    # A safe string stays as it is, as in a template.
    return conditional_escape(value if isinstance(value, str) else str(value))


def _input(widget: Drawn) -> str:
    value = "" if widget["value"] is None else f' value="{_text(widget["value"])}"'
    kind, name = _text(widget["type"]), _text(widget["name"])
    return f'<input type="{kind}" name="{name}"{value}{_attributes(widget)}>'


def _text_area(widget: Drawn) -> str:
    words = _text(widget["value"]) if widget["value"] else ""
    return f'<textarea name="{_text(widget["name"])}"{_attributes(widget)}>\n{words}</textarea>'


def _select(widget: Drawn) -> str:
    groups = "".join(_group(name, options) for name, options, _ in widget["optgroups"])
    return f'<select name="{_text(widget["name"])}"{_attributes(widget)}>{groups}\n</select>'


def _group(name: str | None, options: list[Drawn]) -> str:
    lines = "".join(f"\n  {_option(option)}" for option in options)
    return f'\n  <optgroup label="{_text(name)}">{lines}\n  </optgroup>' if name else lines


def _option(option: Drawn) -> str:
    value, label = _text(option["value"]), _text(option["label"])
    # Django's template for an option ends with a line, that of an input does not.
    return f'<option value="{value}"{_attributes(option)}>{label}</option>\n'


def whole_field(field: BoundField, *, plain: bool = False) -> SafeString:
    """A field with its label, its help and what is wrong with it; plain ones may be left empty
    without a word of it."""
    if field.is_hidden:
        return str(field)
    errors, optional = str(field.errors), "" if field.field.required else OPTIONAL
    helped = ""
    if field.help_text:
        helped = f'<p class="help" id="{field.auto_id}_helptext">{_text(field.help_text)}</p>'
    if field.use_fieldset:
        told = f' aria-describedby="{words}"' if (words := field.aria_describedby) else ""
        legend = f"<legend>{_text(field.label)}{optional}</legend>"
        inside = f"<fieldset{told}>\n{legend}\n{helped}\n{field}\n{errors}\n</fieldset>"
        return mark_safe(f'<div class="field">\n{inside}\n</div>')  # noqa: S308 (escaped above)
    named = f'<label for="{_text(field.id_for_label)}">'
    if isinstance(field.field.widget, CheckboxInput):
        kind, inside = "field tick", f"{named}{field} {_text(field.label)}</label>\n{helped}"
    else:
        label = f"{named}{_text(field.label)}{'' if plain else optional}</label>"
        kind, inside = "field", f"{label}\n{helped}\n{field}"
    return mark_safe(f'<div class="{kind}">\n{inside}\n{errors}\n</div>')  # noqa: S308


OPTIONAL = ' <span class="optional">(optional)</span>'
FOLDER = "django/forms/widgets/"
ERRORS = ("django/forms/errors/list/default.html", "django/forms/errors/list/ul.html")
INPUTS = ("text", "number", "hidden", "password", "date", "file", "checkbox", "email", "search")
KINDS: dict[str, Callable[[Drawn], str]] = {
    **{f"{FOLDER}{kind}.html": _input for kind in INPUTS},
    f"{FOLDER}textarea.html": _text_area,
    f"{FOLDER}select.html": _select,
}
