"""What the finger says of a wait."""

from __future__ import annotations

from typing import Any

from django import forms

from decaljobs.forms.moments import MomentField
from decaljobs.forms.plain import SeenForm


class TouchForm(SeenForm):
    """A touch test on a decal."""

    at = MomentField(label="When it was touched", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, auto_id="touch_%s", **kwargs)


class SheetTouchForm(TouchForm):
    """A touch test on a sheet, by its button."""

    finger = forms.ChoiceField(
        choices=[("dry", "dry"), ("not_yet", "not yet")],
        error_messages={"required": "Press one of the two buttons."},
    )
