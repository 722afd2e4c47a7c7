"""How somebody wants to read lengths and times."""

from __future__ import annotations

from typing import Any

from django import forms

from decaljobs.forms.plain import known_zone
from decaljobs.models import Person


class LooksForm(forms.ModelForm):
    """The ways of one person."""

    class Meta:
        model = Person
        fields = ["length_unit", "clock", "date_order", "zone"]
        labels = {
            "length_unit": "Lengths in",
            "clock": "Clock of",
            "date_order": "Dates",
            "zone": "Time zone",
        }
        help_texts = {"zone": "such as America/New_York; empty: the workshop's own"}
        widgets = {"zone": forms.TextInput(attrs={"autocomplete": "off"})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["zone"].validators.append(known_zone)


class KeysForm(forms.Form):
    """Whether single keys are shortcuts on this device."""

    single_keys = forms.ChoiceField(choices=[("on", "on"), ("off", "off")])

    @property
    def chosen(self) -> str:
        """'on' or 'off'; on where neither is asked for."""
        return self.cleaned_data["single_keys"] if self.is_valid() else "on"


class ThemeForm(forms.Form):
    """What this device shows: light, dark, or what its system says."""

    theme = forms.ChoiceField(
        choices=[("", "as the device"), ("light", "light"), ("dark", "dark")], required=False
    )
