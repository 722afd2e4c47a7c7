"""What measuring takes in: a band colour, a wider band, another colour, the maker's hand."""

import re
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms

from decaljobs.craft.knife.hand import (
    FEWEST_OFFSETS,
    LEAST_MARGIN,
    LEAST_SPREAD,
    MOST_MARGIN,
    MOST_SPREAD,
    spread_of,
)
from decaljobs.forms.colours import ColourField
from decaljobs.forms.lengths import LengthField
from decaljobs.models.projects import HEX_COLOUR
from decaljobs.shown import ways

LEAST_WIDENING, MOST_WIDENING = 0.01, 20.0  # mm


class LookForm(forms.Form):
    """How close the drawing is looked at."""

    CLOSER = [(4, "4 times"), (8, "8 times"), (16, "16 times")]

    zoom = forms.TypedChoiceField(
        required=False,
        coerce=int,
        empty_value=1,
        choices=[(1, "whole"), *CLOSER],
    )

    @property
    def times(self) -> int:
        """The zoom asked for; the whole art when that makes no sense."""
        self.is_valid()
        return self.cleaned_data.get("zoom") or 1


class BandColourForm(forms.Form):
    """The band's colour set by hand; empty finds it again."""

    band_colour = ColourField(
        label="Band colour by hand",
        required=False,
        validators=[HEX_COLOUR],
        max_length=7,
        help_text="#rrggbb; empty lets the program find it",
    )

    @property
    def given(self) -> str | None:
        """The colour, '' to find it anew, None where the button asks nothing of the kind."""
        return self.cleaned_data["band_colour"] if "band_colour" in self.data else None


class WidenForm(forms.Form):
    """A wider band, as a new version."""

    by_mm = LengthField(
        label="Wider by", least=LEAST_WIDENING, most=MOST_WIDENING, decimals=3, as_float=True
    )
    move_decals = forms.BooleanField(
        label="Use it for the decals that are on no sheet yet", required=False, initial=True
    )


class RecolourForm(forms.Form):
    """Another colour for the band, as a new version."""

    colour = ColourField(
        label="New band colour",
        validators=[HEX_COLOUR],
        max_length=7,
        widget=forms.TextInput(attrs={"type": "color"}),
    )
    move_decals = forms.BooleanField(
        label="Use it for the decals that are on no sheet yet", required=False, initial=True
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        # It stands on one page with the form above, whose fields go by the same names.
        super().__init__(*args, auto_id="recolour_%s", **kwargs)


class OffsetsField(forms.CharField):
    """Offsets read off a test strip, in the reader's unit, as typed: '0.1 -0.2 0,05'."""

    widget = forms.TextInput(attrs={"autocomplete": "off", "inputmode": "text"})

    def get_bound_field(self, form: forms.BaseForm, field_name: str) -> forms.BoundField:
        """The field as it stands on a page, told in the reader's unit."""
        bound = super().get_bound_field(form, field_name)
        examples = " ".join(ways().short(mm) for mm in (0.1, -0.2, 0.05))
        bound.help_text = bound.help_text.format(unit=ways().unit, examples=examples)
        return bound

    def clean(self, value: object) -> float | None:
        """The spread in mm that the offsets show, None when none were typed."""
        text = super().clean(value)
        if not text:
            return None
        words = re.split(r"[\s;]+", text.replace(",", ".").strip(" ;"))
        try:
            return spread_of([float(ways().to_mm(Decimal(word))) for word in words])
        except InvalidOperation as error:
            raise forms.ValidationError("Write numbers with a space between.") from error
        except ValueError as error:
            said = ways().sentence(str(error))
            raise forms.ValidationError(f"{said[0].upper()}{said[1:]}.") from error


def _spread(label: str, least: float, most: float) -> LengthField:
    return LengthField(label=label, least=least, most=most, decimals=4, as_float=True)


class HandForm(forms.Form):
    """How far the hand strays: typed, or worked out from a cut test strip."""

    knife_mm = _spread("Knife strays", LEAST_SPREAD, MOST_SPREAD)
    lay_down_mm = _spread("Laying strays", LEAST_SPREAD, MOST_SPREAD)
    clear_margin_mm = _spread("Clear film cut outside the art by", LEAST_MARGIN, MOST_MARGIN)
    knife_offsets = OffsetsField(
        label="Or: offsets of the knife, read off the strip",
        required=False,
        help_text=f"at least {FEWEST_OFFSETS}, in {{unit}}, with a space between: {{examples}}",
    )
    lay_down_offsets = OffsetsField(
        label="Or: offsets of laid pieces, read off the strip",
        required=False,
        help_text="the same way",
    )

    @property
    def hand(self) -> dict[str, float]:
        """The figures to keep: those from a strip go before typed ones."""
        found = self.cleaned_data
        return {
            "knife_mm": found["knife_offsets"] or found["knife_mm"],
            "lay_down_mm": found["lay_down_offsets"] or found["lay_down_mm"],
            "clear_margin_mm": found["clear_margin_mm"],
        }
