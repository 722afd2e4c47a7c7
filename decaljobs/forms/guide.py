"""Whether the first evening's guide is shown."""

from django import forms


class GuideForm(forms.Form):
    """Shown again, or put away."""

    shown = forms.BooleanField(required=False)
