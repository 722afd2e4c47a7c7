"""Sheets of film: what they are, what goes on them, and what is done to them."""

from decimal import Decimal

from django import forms

from decaljobs.craft.stages import LAYERS, Build, Film
from decaljobs.forms.moments import MomentField
from decaljobs.forms.plain import RecordsField
from decaljobs.models import Decal, Sheet
from decaljobs.models.pieces import MOST_COPIES

# ISO 216; ASME Y14.1 A.
SIZES = {"A4": (Decimal(210), Decimal(297)), "Letter": (Decimal("215.9"), Decimal("279.4"))}


class SheetForm(forms.ModelForm):
    """A new sheet: A4, Letter, or any other size by its sides."""

    size = forms.ChoiceField(
        label="Size",
        choices=[("A4", "A4"), ("Letter", "Letter"), ("free", "another size")],
        initial="A4",
    )

    class Meta:
        model = Sheet
        fields = ["film", "printer", "sealer", "coats_wanted", "width_mm", "height_mm", "note"]
        labels = {
            "sealer": "Sealer",
            "coats_wanted": "Sealing coats",
            "width_mm": "Width, mm",
            "height_mm": "Height, mm",
        }
        help_texts = {
            "coats_wanted": "inkjet: 3 to 5 light coats; laser: one very fine coat "
            "(common practice)",
            "width_mm": "only for another size",
            "height_mm": "only for another size",
        }

    field_order = [
        "film",
        "printer",
        "size",
        "width_mm",
        "height_mm",
        "sealer",
        "coats_wanted",
        "note",
    ]

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["width_mm"].required = self.fields["height_mm"].required = False

    def clean(self) -> dict[str, object]:
        cleaned = super().clean()
        size = cleaned.get("size")
        if size in SIZES:
            cleaned["width_mm"], cleaned["height_mm"] = SIZES[size]
            for side in ("width_mm", "height_mm"):
                self.errors.pop(side, None)
            return cleaned
        for side in ("width_mm", "height_mm"):
            if cleaned.get(side) is None and side not in self.errors:
                self.add_error(side, "Write this side in mm.")
        return cleaned

    @property
    def fields_for_sheet(self) -> dict[str, object]:
        """What the services take, once the form is valid."""
        return {name: value for name, value in self.cleaned_data.items() if name != "size"}


class FillForm(forms.Form):
    """Decals to put on a sheet, and how many copies of each."""

    decals = RecordsField(
        label="Decals",
        queryset=Decal.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick at least one decal."},
    )
    copies = forms.IntegerField(
        label="Copies of each", min_value=1, max_value=MOST_COPIES, initial=2
    )

    def __init__(self, *args, sheet: Sheet, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["decals"].queryset = decals_for(sheet)

    @property
    def choices_ticked(self) -> list[tuple[Decal, bool]]:
        """Every decal that can go on the sheet, and whether it is ticked."""
        ticked = {str(value) for value in self["decals"].value() or []}
        return [(decal, str(decal.pk) in ticked) for decal in self.fields["decals"].queryset]


def decals_for(sheet: Sheet):
    """The unfinished decals whose build has the layer of this sheet's film."""
    layer = Film(sheet.film).layer
    builds = [build.value for build in Build if layer in LAYERS[build]]
    return (
        Decal.objects.at_work()
        .filter(build__in=builds)
        .exclude(next_step="")
        .select_related("project", "artwork")
        .order_by("project", "place", "number")
    )


class SheetLogForm(forms.Form):
    """When a sheet was printed or coated, and why if it was before its time."""

    at = MomentField(label="When", required=False)
    reason = forms.CharField(label="Why before its time", required=False, max_length=300)
    seen = forms.IntegerField(required=False, widget=forms.HiddenInput)
