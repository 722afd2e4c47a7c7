"""Sheets of film: what they are, what goes on them, and what is done to them."""

from decimal import Decimal

from django import forms

from decaljobs.craft.stages import Film
from decaljobs.craft.units import PAPERS
from decaljobs.forms.lengths import LengthField
from decaljobs.forms.moments import MomentField
from decaljobs.forms.plain import NumbersField, RecordsField, SeenForm, reason_field
from decaljobs.models import Decal, Sheet
from decaljobs.models.pieces import MOST_COPIES
from decaljobs.models.sheets import (
    LARGEST_SIDE_MM,
    MARGIN_MM,
    SMALLEST_SIDE_MM,
    WIDEST_MARGIN_MM,
)
from decaljobs.shown import ways

#: A strip narrower than this holds no decal, mm (common practice, no source).
SMALLEST_FREE_MM = 2
#: The usual sizes of film are those of paper.
SIZES = {
    name: (Decimal(str(paper.width_mm)), Decimal(str(paper.height_mm)))
    for name, paper in PAPERS.items()
}
SIZE_CHOICES = [*((name, name) for name in SIZES), ("free", "another size")]


def side_field(label: str) -> LengthField:
    """A side of a sheet that has none of the usual sizes."""
    return LengthField(
        label=label,
        least=SMALLEST_SIDE_MM,
        most=LARGEST_SIDE_MM,
        decimals=1,
        required=False,
        help_text="only for another size",
    )


def margin_field(help_text: str, *, required: bool = True) -> LengthField:
    """The edge left free all round a sheet: 'clear' is a film here."""
    return LengthField(
        label="Edge left free",
        least=0,
        most=WIDEST_MARGIN_MM,
        decimals=1,
        required=required,
        help_text=help_text,
    )


class SheetForm(forms.ModelForm):
    """A new sheet: A4, Letter, or any other size by its sides."""

    size = forms.ChoiceField(
        label="Size",
        choices=SIZE_CHOICES,
        initial="A4",
    )

    width_mm = side_field("Width")
    height_mm = side_field("Height")
    margin_mm = margin_field(
        "what the printer cannot reach, and room for the sheet\u2019s code; "
        "the usual one when left empty (common practice)",
        required=False,
    )

    class Meta:
        model = Sheet
        fields = [
            "film",
            "printer",
            "sealer",
            "coats_wanted",
            "width_mm",
            "height_mm",
            "margin_mm",
            "note",
        ]
        labels = {
            "sealer": "Sealer",
            "coats_wanted": "Sealing coats",
        }
        help_texts = {
            "coats_wanted": "inkjet: 3 to 5 light coats; laser: one very fine coat "
            "(common practice)",
        }

    field_order = [
        "film",
        "printer",
        "size",
        "width_mm",
        "height_mm",
        "margin_mm",
        "sealer",
        "coats_wanted",
        "note",
    ]

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        films = [(value, words) for value, words in self.fields["film"].choices if value]
        self.fields["film"].choices = [("", "white or clear?"), *films]

    def clean_margin_mm(self) -> Decimal:
        margin = self.cleaned_data["margin_mm"]
        return Decimal(MARGIN_MM) if margin is None else margin

    def clean(self) -> dict[str, object]:
        cleaned = super().clean()
        take_size(self)
        refuse_margin(self)
        return cleaned

    @property
    def fields_for_sheet(self) -> dict[str, object]:
        """What the services take, once the form is valid."""
        return {name: value for name, value in self.cleaned_data.items() if name != "size"}


def take_size(form: forms.BaseForm) -> None:
    """Let one of the usual sizes stand for both sides; another size needs both written."""
    sides = ("width_mm", "height_mm")
    usual = SIZES.get(form.cleaned_data.get("size", ""))
    if usual:
        form.cleaned_data.update(zip(sides, usual, strict=True))
        for side in sides:
            form.errors.pop(side, None)
    for side in sides:
        if form.cleaned_data.get(side) is None and side not in form.errors:
            form.add_error(side, "Write how long this side is.")


def refuse_margin(form: forms.BaseForm) -> float | None:
    """Refuse a clear edge that leaves nothing of the sheet; answers what is left of it, mm."""
    names = ("width_mm", "height_mm", "margin_mm")
    width, height, margin = (form.cleaned_data.get(name) for name in names)
    if width is None or height is None or margin is None:
        return None
    if min(width, height) < SMALLEST_SIDE_MM:  # said beside that side
        return None
    left = float(min(width, height) - 2 * margin)
    if left < SMALLEST_FREE_MM:
        most = (min(width, height) - SMALLEST_FREE_MM) / 2
        form.add_error(
            "margin_mm",
            f"This edge leaves nothing of the sheet: {ways().length(max(0, most))} at most.",
        )
    return left


class ForDecalForm(forms.Form):
    """Which decal a sheet is looked for, and on which film."""

    decal = NumbersField(required=False)
    film = forms.ChoiceField(choices=[(film.value, film.value) for film in Film], required=False)

    @property
    def asked(self) -> dict[str, list[int] | str]:
        """What of it makes sense."""
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value}


class FillForm(forms.Form):
    """Decals to put on a sheet, and how many copies of each."""

    decals = RecordsField(
        label="Decals",
        queryset=Decal.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick at least one decal."},
    )
    copies = forms.IntegerField(
        label="Copies of each",
        min_value=1,
        max_value=MOST_COPIES,
        required=False,
        help_text="left empty: as many as your own record asks for, equal decals counted together",
    )

    def __init__(self, *args, sheet: Sheet, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["decals"].queryset = Decal.objects.that_want(Film(sheet.film))

    @property
    def choices_ticked(self) -> list[tuple[Decal, bool]]:
        """Every decal that can go on the sheet, and whether it is ticked; those that are first."""
        ticked = {str(value) for value in self["decals"].value() or []}
        rows = [(decal, str(decal.pk) in ticked) for decal in self.fields["decals"].queryset]
        return sorted(rows, key=lambda row: not row[1])


class SheetLogForm(SeenForm):
    """When a sheet was printed or coated, and why if it was before its time."""

    at = MomentField(label="When", required=False)
    reason = reason_field("Why before its time")
    field_order = ["at", "reason"]
