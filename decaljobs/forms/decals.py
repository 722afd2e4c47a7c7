"""What the decal page takes in: steps, mishaps, and what a decal is."""

from __future__ import annotations

from collections.abc import Iterable

from django import forms

from decaljobs.craft.mishaps import Cause
from decaljobs.craft.stages import SHEET_STEPS, Build, Layer, Stage
from decaljobs.forms.moments import MomentField
from decaljobs.forms.plain import PlainSelect, SeenForm, reason_field
from decaljobs.models import Decal

STEPS = [stage for stage in Stage if stage is not Stage.PLANNED and stage not in SHEET_STEPS]


class StepForm(SeenForm):
    """One step logged on one decal."""

    step = forms.ChoiceField(
        choices=[(step.value, step.words) for step in STEPS], widget=forms.HiddenInput
    )
    at = MomentField(label="When it was done", required=False)
    reason = reason_field("Why before its time")


def cause_field() -> forms.ChoiceField:
    """What went wrong, in the trade's words; they are counted on the records page."""
    told = [(cause.value, cause.words) for cause in Cause]
    return forms.ChoiceField(
        label="What went wrong", required=False, choices=[("", "not told"), *told]
    )


class SpoilLayerForm(SeenForm):
    """A layer on the model that is spoiled."""

    layer = forms.ChoiceField(label="Which layer")
    cause = cause_field()
    reason = reason_field("What happened")
    at = MomentField(label="When it happened", required=False)
    field_order = ["layer", "cause", "reason", "at"]

    def __init__(self, *args, layers: Iterable[Layer], **kwargs) -> None:
        super().__init__(*args, auto_id="spoil_%s", **kwargs)
        self.fields["layer"].choices = [(layer.value, f"{layer} layer") for layer in layers]


class SpoilPieceForm(forms.Form):
    """A piece spoiled before it was laid."""

    cause = cause_field()
    reason = reason_field("What happened")

    def __init__(self, *args, piece: int, **kwargs) -> None:
        super().__init__(*args, auto_id=f"piece-{piece}_%s", **kwargs)


class TakePieceForm(forms.Form):
    """A twin to take a good piece from, and of which layer: '12:clear'."""

    take_from = forms.RegexField(r"^[0-9]{1,12}:(base|clear)\Z")
    seen = forms.IntegerField(required=False, min_value=0)

    @property
    def wanted(self) -> tuple[int, Layer]:
        """The twin's number and the layer, once the form is valid."""
        twin, layer = self.cleaned_data["take_from"].split(":")
        return int(twin), Layer(layer)


class ChangeDecalForm(forms.ModelForm):
    """What a decal is. Once a piece of it lies on a sheet, its art and build stay."""

    class Meta:
        model = Decal
        fields = ["place", "artwork", "build", "note", "upright"]
        widgets = {"artwork": PlainSelect}
        help_texts = {"place": "where it sits on the model: left side, tail"}

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["build"].choices = [(build.value, build.words) for build in Build]
        self.fields["artwork"].empty_label = None
        if self.instance.pieces.exists():
            for name in ("artwork", "build"):
                self.fields[name].disabled = True
                self.fields[name].help_text = "stays: pieces of it lie on a sheet"

    def clean_place(self) -> str:
        place = self.cleaned_data["place"]
        same = Decal.objects.filter(
            project=self.instance.project_id, place=place, number=self.instance.number
        )
        if same.exclude(pk=self.instance.pk).exists():
            raise forms.ValidationError("There is a decal for this place already.")
        return place
