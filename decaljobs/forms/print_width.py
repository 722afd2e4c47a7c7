"""The print width of art: as it is on the model, or worked out from the prototype and a scale."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms

from decaljobs.craft.units import LEAST_ART_MM, MOST_ART_MM, ScaleError, parse_scale, size_on_model
from decaljobs.craft.ways import NO_BREAK
from decaljobs.forms.lengths import LengthField
from decaljobs.shown import ways

LARGEST_PROTOTYPE_MM = 100_000


def width_field(*, required: bool = True) -> LengthField:
    """The print width of art, within what a sheet can hold."""
    return LengthField(label="Print width", least=LEAST_ART_MM, most=MOST_ART_MM, required=required)


def prototype_field() -> LengthField:
    """How wide the marking is on the real thing."""
    return LengthField(
        label="Its width on the prototype",
        least=1,
        most=LARGEST_PROTOTYPE_MM,
        required=False,
        help_text="instead of the print width, which is worked out at the scale",
    )


class PrintWidthForm(forms.Form):
    """One of two widths is typed; `width_mm` is what comes of it."""

    width_mm = width_field(required=False)
    prototype_mm = prototype_field()

    def scale_ratio(self) -> Decimal | None:
        """The ratio n of 1 : n by which a prototype's width is divided; None while unknown."""
        raise NotImplementedError

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        prototype = cleaned.pop("prototype_mm", None)
        if prototype is None:
            return cleaned
        ratio = self.scale_ratio()
        if cleaned.get("width_mm") is not None:
            self.add_error("prototype_mm", "Give one width: on the model or on the prototype.")
        elif ratio is not None:
            cleaned["width_mm"] = self._on_the_model(prototype, ratio)
        return cleaned

    def _on_the_model(self, prototype: Decimal, ratio: Decimal) -> Decimal | None:
        width = Decimal(str(size_on_model(float(prototype), ratio))).quantize(Decimal("0.01"))
        if LEAST_ART_MM <= width <= MOST_ART_MM:
            return width
        low, high, found = (ways().short(side, 2) for side in (LEAST_ART_MM, MOST_ART_MM, width))
        unit = f"{NO_BREAK}{ways().unit}"
        self.add_error(
            "prototype_mm", f"That is {found}{unit} in print, not {low} to {high}{unit}."
        )
        return None


class ScaledWidthForm(PrintWidthForm):
    """The same where no project says the scale."""

    scale = forms.CharField(
        label="Scale",
        max_length=30,
        required=False,
        help_text="only with the prototype's width: 1:72, 4 mm/ft, or a size such as H0",
    )

    def clean_scale(self) -> Decimal | None:
        typed = self.cleaned_data["scale"]
        try:
            return parse_scale(typed) if typed else None
        except ScaleError as error:
            raise forms.ValidationError(str(error)) from error

    def scale_ratio(self) -> Decimal | None:
        if "scale" in self.cleaned_data and self.cleaned_data["scale"] is None:
            self.add_error("scale", "Say at which scale the model is built.")
        return self.cleaned_data.get("scale")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        cleaned.pop("scale", None)
        if cleaned.get("width_mm") is None and not self.errors:
            self.add_error("width_mm", "Say how wide the art is to be printed.")
        return cleaned
