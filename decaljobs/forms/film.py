"""What the sheet page takes in: how to print, where to cut, why a sheet is lost."""

from __future__ import annotations

from collections.abc import Iterable

from django import forms

from decaljobs.craft.paper.printfile import LEAST_MEASURED, MOST_MEASURED, BaseArt
from decaljobs.craft.stages import Film, Printer
from decaljobs.forms.lengths import LengthField
from decaljobs.forms.paper import PaperForm
from decaljobs.forms.plain import SeenForm, reason_field
from decaljobs.models.choices import choices_of

SIDES = [("foot", "across the foot"), ("right", "down the right")]
MARKS = [
    ("ticks", "corner ticks"),
    ("guides", "cut guides"),
    ("both", "corner ticks and cut guides"),
    ("none", "none"),
]


class PrintFileForm(forms.Form):
    """Which art goes on white film, and which helping lines are printed."""

    base_art = forms.ChoiceField(label="On white film, print", required=False)
    marks = forms.ChoiceField(label="Helping lines", choices=MARKS, required=False)

    def __init__(self, *args, base_arts: Iterable[BaseArt] = tuple(BaseArt), **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["base_art"].choices = [(art.value, art.words) for art in base_arts]

    @property
    def wishes(self) -> dict[str, object]:
        """What the services take, once the form is valid."""
        marks = self.cleaned_data["marks"] or "ticks"
        return {
            "base_art": BaseArt(self.cleaned_data["base_art"] or BaseArt.FULL),
            "guides": marks in ("guides", "both"),
            "ticks": marks in ("ticks", "both"),
        }


class CutOffForm(SeenForm):
    """Where one straight cut takes the rest off."""

    side = forms.ChoiceField(label="The cut runs", choices=SIDES)
    at_mm = LengthField(
        label="How far from the top (or left) edge", least=0, most=1000, as_float=True
    )
    field_order = ["side", "at_mm"]

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, auto_id="cut_%s", **kwargs)


class LostForm(SeenForm):
    """What became of the sheet."""

    reason = reason_field("What happened")
    field_order = ["reason"]

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, auto_id="lost_%s", **kwargs)


class RefeedForm(forms.Form):
    """Why laser film that was cut or fed may go through the fuser again."""

    reason = reason_field(
        "Why this film may go through the fuser again", required=True, max_length=250
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, auto_id="refeed_%s", **kwargs)


def _arm(label: str) -> LengthField:
    return LengthField(label=label, least=LEAST_MEASURED, most=MOST_MEASURED, as_float=True)


class PrinterFilmForm(PaperForm):
    """Which printer and film a cross is for."""

    printer = forms.ChoiceField(label="Printer", choices=choices_of(Printer))
    film = forms.ChoiceField(label="Film", choices=choices_of(Film))


class PrinterFitForm(forms.Form):
    """What the arms of a printed cross measure."""

    printer = forms.ChoiceField(label="Printer", choices=choices_of(Printer))
    film = forms.ChoiceField(label="Film", choices=choices_of(Film))
    across_mm = _arm("Arm across the page")
    along_mm = _arm("Arm along the page")
