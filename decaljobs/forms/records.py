"""What the records' pages take in."""

from __future__ import annotations

from django import forms

from decaljobs.craft.doings import Doing


class CustomerForm(forms.Form):
    """Which customer's projects are added up, in the address."""

    customer = forms.CharField(max_length=120, required=False)


class TakeMinutesForm(forms.Form):
    """The kind of work whose minutes are taken over from the log."""

    doing = forms.TypedChoiceField(choices=[(doing.value, "") for doing in Doing], coerce=Doing)
