"""Colours as typed or picked."""

from django import forms


class ColourField(forms.CharField):
    """A colour as #rrggbb, kept in small letters."""

    def to_python(self, value: object) -> str:
        return super().to_python(value).lower()
