"""What the finger says of a wait."""

from __future__ import annotations

from django import forms

from decaljobs.forms.decals import SeenForm
from decaljobs.forms.moments import MomentField


class TouchForm(SeenForm):
    """A touch test on a decal."""

    at = MomentField(label="When it was touched", required=False)


class SheetTouchForm(TouchForm):
    """A touch test on a sheet, by its button."""

    finger = forms.ChoiceField(
        choices=[("dry", "dry"), ("not_yet", "not yet")],
        error_messages={"required": "Press one of the two buttons."},
    )
