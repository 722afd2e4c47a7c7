"""Fields and widgets that several screens share."""

from __future__ import annotations

import re
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django import forms
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

_NUMBER = re.compile(r"[0-9]{1,12}")


class PlainSelect(forms.Select):
    """A select for hundreds of options: Django's own draws each of them by a template."""

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:
        chosen = "" if value is None else str(value)
        options = format_html_join(
            "",
            '<option value="{}"{}>{}</option>',
            (
                (key, format_html(" {}", "selected") if str(key) == chosen else "", label)
                for key, label in self.choices
            ),
        )
        fixed = self.build_attrs(self.attrs, {**(attrs or {}), "name": name})
        said = format_html_join("", ' {}="{}"', fixed.items())
        return format_html("<select{}>{}</select>", said, options)


class SeenForm(forms.Form):
    """How many log lines the page showed, so that nothing is logged on an outdated one."""

    seen = forms.IntegerField(required=False, min_value=0, widget=forms.HiddenInput)


def reason_field(label: str, **more: Any) -> forms.CharField:
    """Why something was done, or how it came, in the maker's own words."""
    widget = forms.TextInput(attrs={"autocomplete": "off"})
    return forms.CharField(
        **{"label": label, "required": False, "max_length": 300, "widget": widget, **more}
    )


def known_zone(zone: str) -> None:
    """Refuse what is no time zone's name."""
    try:
        ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise forms.ValidationError(
            f"‘{zone}’ is no time zone: write Europe/London or UTC."
        ) from error


class _WithComma:
    """A comma before the decimals, as half of Europe types it, and no stepping arrows."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        super().__init__(**{"widget": widget, **kwargs})

    def to_python(self, value: Any) -> Any:
        return super().to_python(value.replace(",", ".") if isinstance(value, str) else value)


class CommaNumberField(_WithComma, forms.FloatField):
    """A number, with a point or a comma before its decimals."""


class CommaDecimalField(_WithComma, forms.DecimalField):
    """A decimal number, with a point or a comma before its decimals."""


class NumbersField(forms.Field):
    """Record numbers, as tick boxes of one name send them."""

    widget = forms.MultipleHiddenInput

    def to_python(self, value: Any) -> list[int]:
        wanted = [str(number) for number in value or []]
        if not all(_NUMBER.fullmatch(number) for number in wanted):
            raise forms.ValidationError("These are no records of this workshop.")
        return [int(number) for number in wanted]


class RecordsField(forms.ModelMultipleChoiceField):
    """Records ticked by number; a number no record can have is refused before it is looked up."""

    def clean(self, value: Any) -> Any:
        for number in value or []:
            if not _NUMBER.fullmatch(str(number)):
                raise forms.ValidationError(
                    self.error_messages["invalid_pk_value"],
                    code="invalid_pk_value",
                    params={"pk": str(number)[:20]},
                )
        return super().clean(value)
