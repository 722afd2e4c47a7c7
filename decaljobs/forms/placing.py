"""Panels as they are measured, and the places of decals on them."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django import forms
from django.db.models import QuerySet

from decaljobs.craft.placing import LARGEST_PANEL_MM, SMALLEST_PANEL_MM
from decaljobs.craft.units import MM_PER_FOOT, MM_PER_INCH, ScaleError, format_scale, parse_scale
from decaljobs.craft.ways import NO_BREAK
from decaljobs.forms.lengths import LengthField
from decaljobs.forms.plain import PlainSelect
from decaljobs.models import Decal, Panel, Project
from decaljobs.shown import ways

HUNDREDTH = Decimal("0.01")
#: How a panel may be measured, and the millimetres that one unit of it is.
MEASURES = {
    "model": ("mm, on the model", Decimal(1)),
    "in": ("inches, on the model", MM_PER_INCH),
    "mm": ("mm, on the full-size original", Decimal(1)),
    "m": ("metres, on the full-size original", Decimal(1000)),
    "ft": ("feet, on the full-size original", MM_PER_FOOT),
}
_MEASURED = {"mm": "model", "in": "in"}
#: What can be typed before it is scaled down: the largest panel at the smallest scale, mm.
LARGEST_TYPED = 10_000_000
FARTHEST = 2 * LARGEST_PANEL_MM


def _length(label: str, **more: Any) -> forms.DecimalField:
    return forms.DecimalField(
        label=label,
        max_digits=10,
        decimal_places=4,
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
        **more,
    )


class PanelForm(forms.Form):
    """A panel: its name, and its size on the model or on the full-size original."""

    name = forms.CharField(
        label="Name", max_length=60, help_text="seen from outside: left side, lid, bow"
    )
    measured = forms.ChoiceField(
        label="Measured in",
        choices=[(key, words) for key, (words, _) in MEASURES.items()],
        initial="model",
    )
    width_mm = _length("Width", min_value=0, max_value=LARGEST_TYPED)
    height_mm = _length("Height", min_value=0, max_value=LARGEST_TYPED)
    scale = forms.CharField(
        label="Scale", max_length=30, required=False, help_text="counts for a full-size measure"
    )

    def __init__(
        self, *args: Any, project: Project, panel: Panel | None = None, **kwargs: Any
    ) -> None:
        start = {"scale": format_scale(project.scale_ratio), "measured": _MEASURED[ways().unit]}
        if panel is not None:
            sides = {"width_mm": panel.width_mm, "height_mm": panel.height_mm}
            start |= {side: ways().short(mm) for side, mm in sides.items()} | {"name": panel.name}
        super().__init__(*args, initial=start, auto_id="panel_%s", **kwargs)
        self.project = project

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        measured = cleaned.get("measured")
        if measured is None or "scale" in self.errors:
            return cleaned
        unit, ratio = MEASURES[measured][1], Decimal(1)
        if measured not in ("model", "in"):
            ratio = self._ratio(cleaned.get("scale") or "")
        for side in ("width_mm", "height_mm"):
            if cleaned.get(side) is not None and ratio:
                cleaned[side] = self._on_model(side, cleaned[side] * unit / ratio)
        return cleaned

    def _ratio(self, scale: str) -> Decimal:
        if not scale:
            return self.project.scale_ratio
        try:
            return parse_scale(scale)
        except ScaleError as error:
            self.add_error("scale", str(error))
            return Decimal(0)

    def _on_model(self, side: str, length: Decimal) -> Decimal:
        length = length.quantize(HUNDREDTH, ROUND_HALF_UP)
        if not SMALLEST_PANEL_MM <= length <= LARGEST_PANEL_MM:
            self.add_error(
                side,
                f"That is {ways().length(length, 2)} on the model: a panel has "
                f"{ways().short(SMALLEST_PANEL_MM)} to {ways().short(LARGEST_PANEL_MM)}"
                f"{NO_BREAK}{ways().unit}.",
            )
        return length

    @property
    def wanted(self) -> dict[str, Any]:
        """Name and size on the model, once the form is valid."""
        return {name: self.cleaned_data[name] for name in ("name", "width_mm", "height_mm")}


def _place(label: str) -> LengthField:
    return LengthField(label=label, least=-FARTHEST, most=FARTHEST, decimals=2)


class PlaceForm(forms.Form):
    """The place of a decal's centre on a panel, from its lower left corner."""

    decal = forms.ModelChoiceField(
        label="Decal", queryset=Decal.objects.none(), widget=PlainSelect, empty_label=None
    )
    x_mm = _place("From the left")
    y_mm = _place("From below")
    turn = forms.DecimalField(
        label="Turned, degrees",
        required=False,
        min_value=-360,
        max_value=360,
        max_digits=7,
        decimal_places=1,
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
    )

    def __init__(self, *args: Any, decals: QuerySet[Decal], panel: int, **kwargs: Any) -> None:
        """The fields of a decal's form are named after it, those of the next one's after the panel:
        many stand on one page."""
        super().__init__(*args, **kwargs)
        self.fields["decal"].queryset = decals
        decal = str(self["decal"].value() or "")
        self.auto_id = f"place-d{decal}_%s" if decal.isdecimal() else f"place-p{panel}_%s"

    def clean_turn(self) -> Decimal:
        return self.cleaned_data["turn"] or Decimal(0)
