"""The next sheet: what it is like, how the pieces are to lie, and what goes on it."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS

from decaljobs.craft.stages import Printer
from decaljobs.craft.ways import PLAIN, Ways
from decaljobs.forms.lengths import LengthField
from decaljobs.forms.plain import NumbersField
from decaljobs.forms.sheets import (
    SIZE_CHOICES,
    SIZES,
    margin_field,
    refuse_margin,
    side_field,
    take_size,
)
from decaljobs.models import LayoutSearch
from decaljobs.models.choices import choices_of
from decaljobs.models.pieces import MOST_COPIES
from decaljobs.models.sheets import MARGIN_MM
from decaljobs.shown import ways

SURENESS = [("0.9", "90 %"), ("0.95", "95 %"), ("0.99", "99 %")]
#: No record has a higher number than a database counts to.
MOST_RECORDS = 2**63 - 1
SECONDS = [("1", "1 second"), ("3", "3 seconds"), ("10", "10 seconds")]


class NextSheetForm(forms.Form):
    """What new sheets are like and how the pieces lie on them."""

    printer = forms.ChoiceField(label="Printer", choices=choices_of(Printer))
    size = forms.ChoiceField(label="Size of a new sheet", choices=SIZE_CHOICES)
    width_mm = side_field("Width")
    height_mm = side_field("Height")
    margin_mm = margin_field("what the printer cannot reach, and room for the sheet\u2019s code")
    gap = LengthField(label="Gap between pieces", least=2, most=4, decimals=2, as_float=True)
    sureness = forms.ChoiceField(label="Enough good copies with a chance of", choices=SURENESS)
    seconds = forms.ChoiceField(label="Look for a better layout for", choices=SECONDS)
    same_places = forms.BooleanField(label="Same places on both films", required=False)
    together = forms.BooleanField(label="Keep copies of a decal together", required=False)
    straight_cuts = forms.BooleanField(
        label="Straight cuts only",
        required=False,
        help_text="every piece can be freed with a ruler, edge to edge",
    )

    #: Whether its lengths are in the unit that a reader typed them in, and not as addresses have.
    is_typed = False

    @classmethod
    def asked(cls, data, printer: str = Printer.INKJET) -> NextSheetForm:
        """The form as an address has it, or with the values to start from."""
        form = cls(_with_lengths_in_mm(data) if "gap" in data else start_values(printer))
        form.is_typed = "unit" in data
        return form

    def clean(self) -> dict[str, object]:
        cleaned = super().clean()
        take_size(self)
        left, gap = refuse_margin(self), cleaned.get("gap")
        if left is not None and gap is not None and "margin_mm" not in self.errors and gap >= left:
            self.add_error(
                "gap", f"The sheet inside its edge is {ways().length(left)}: no wider than this."
            )
        return cleaned

    @property
    def makes_sense(self) -> bool:
        """Whether every field does, even where the whole was refused for another reason."""
        return self.is_bound and not set(self.errors) - {NON_FIELD_ERRORS}

    @property
    def wishes(self) -> dict[str, object]:
        """What the services take, once the form is valid."""
        names = ("printer", "gap", "same_places", "together", "straight_cuts")
        sides = ("width_mm", "height_mm", "margin_mm")
        return {
            **{name: self.cleaned_data[name] for name in names},
            **{side: float(self.cleaned_data[side]) for side in sides},
            "seconds": float(self.cleaned_data["seconds"]),
        }

    @property
    def address(self) -> str:
        """The wishes as they stand in an address: lengths in mm, the same for every reader."""
        given = {name: self._in_address(name) for name in self.fields}
        return urlencode({name: value for name, value in given.items() if value not in (None, "")})

    def _in_address(self, name: str) -> Any:
        if not isinstance(self.fields[name], LengthField):
            return self[name].value()
        mm = self.cleaned_data.get(name)
        said_by_name = name not in ("margin_mm", "gap") and self.cleaned_data["size"] in SIZES
        return None if mm is None or said_by_name else PLAIN.short(mm, self.fields[name].decimals)

    @property
    def chance(self) -> float:
        """The chance of enough good copies, 0 to 1."""
        return float(self.cleaned_data["sureness"])


def _with_lengths_in_mm(data: Mapping[str, str]) -> dict[str, Any]:
    """What an address asks for: its lengths are mm, or in the unit that a form names."""
    told: dict[str, Any] = {name: data[name] for name in NextSheetForm.base_fields if name in data}
    unit = "in" if data.get("unit") == "in" else "mm"
    if unit == ways().unit:
        return told  # as it was typed
    lengths = [name for name in told if isinstance(NextSheetForm.base_fields[name], LengthField)]
    return told | {name: _mm(told[name], Ways(unit=unit)) for name in lengths}


def _mm(text: str, writer: Ways) -> Decimal | str:
    """A length in mm; what is none stays as it was typed, to be refused beside its field."""
    try:
        mm = writer.to_mm(Decimal(text))
    except InvalidOperation:
        return text
    return mm if mm.is_finite() and mm.adjusted() < 6 else text


def start_values(printer: str) -> dict[str, object]:
    """What the page starts from: A4, 3 mm, both films alike."""
    return {
        "printer": printer,
        "size": "A4",
        "margin_mm": Decimal(MARGIN_MM),
        "gap": 3.0,
        "sureness": "0.95",
        "seconds": "1",
        "same_places": True,
        "together": True,
        "straight_cuts": False,
    }


class SeenQueueForm(forms.Form):
    """What the page showed, so that no other queue is laid out than the one that was seen."""

    seen = forms.CharField(required=False, max_length=16)
    search = forms.IntegerField(required=False, min_value=1, max_value=MOST_RECORDS)


class SearchKindForm(forms.Form):
    """What is to be looked for behind the page."""

    kind = forms.ChoiceField(choices=LayoutSearch.Kind.choices)


class QueueForm(forms.Form):
    """Decals to put on the list for the next sheet, or to take off it; or a whole project's."""

    decals = NumbersField(required=False)
    project = forms.CharField(required=False, max_length=12)


def _copies(label: str) -> forms.IntegerField:
    return forms.IntegerField(label=label, required=False, min_value=1, max_value=MOST_COPIES)


class CopiesForm(forms.Form):
    """Copies of each layer as the maker wants them; empty goes back to the rule."""

    base = _copies("Base")
    clear = _copies("Clear")
    upright = forms.BooleanField(
        label="Upright only",
        required=False,
        help_text="never turned by 90°, on this sheet and on later ones",
    )

    def __init__(self, *args, decal: int, **kwargs) -> None:
        super().__init__(*args, auto_id=f"copies-{decal}_%s", **kwargs)
