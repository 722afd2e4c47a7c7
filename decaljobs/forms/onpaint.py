"""Which paint and build a picture of art is wanted for."""

from django import forms


class PaintForm(forms.Form):
    """A paint as rrggbb, and the build to show."""

    paint = forms.RegexField(r"\A[0-9a-f]{6}\Z")
    build = forms.ChoiceField(choices=[("laminated", "laminated"), ("clear_alone", "clear alone")])
