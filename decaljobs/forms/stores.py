"""What the stores' pages take in: supplies, what work uses up, and lines of their log."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms

from decaljobs.craft.doings import AIRBRUSH, Doing
from decaljobs.craft.stores.supplies import KEEPS_DAYS, OPENED_DAYS, USES, SupplyKind
from decaljobs.forms.days import DayField
from decaljobs.forms.lengths import LengthField
from decaljobs.forms.moments import MomentField
from decaljobs.forms.plain import CommaDecimalField
from decaljobs.models import StockLine, StoresRules, Supply
from decaljobs.models.sheets import LARGEST_SIDE_MM, SMALLEST_SIDE_MM
from decaljobs.models.stores import MOST_STOCK

MOST_PRICE = Decimal("99999999.99")
DOINGS = [doing for doing in Doing if doing not in AIRBRUSH]


def amount_field(**more: Any) -> CommaDecimalField:
    return CommaDecimalField(
        **{"max_digits": 10, "decimal_places": 3, "max_value": MOST_STOCK, "min_value": 0, **more}
    )


def side_field(label: str) -> LengthField:
    return LengthField(
        label=label, required=False, least=SMALLEST_SIDE_MM, most=LARGEST_SIDE_MM, decimals=1
    )


#: What is asked of each kind beside its name, its mark and a note.
ASKED = {
    SupplyKind.FILM: ("film", "printer", "width_mm", "height_mm", "keeps_days"),
    SupplyKind.SEALER: ("sealer", "keeps_days", "opened_days"),
    SupplyKind.FLUID: ("keeps_days", "opened_days"),
    SupplyKind.BLADE: (),
    SupplyKind.INK: ("printer", "keeps_days", "opened_days"),
    SupplyKind.OTHER: ("printer", "sealer", "keeps_days", "opened_days"),
}

#: What cannot be left empty, so that sheets are taken from the film that they are of.
NEEDED = {SupplyKind.FILM: ("film", "printer", "width_mm", "height_mm")}


class KindForm(forms.Form):
    """Which kind of supply is put in, in the address."""

    kind = forms.TypedChoiceField(
        choices=[(kind.value, kind.words) for kind in SupplyKind], coerce=SupplyKind
    )

    @property
    def chosen(self) -> SupplyKind | None:
        """The kind asked for; None when it makes no sense."""
        return self.cleaned_data["kind"] if self.is_valid() else None


class SupplyForm(forms.ModelForm):
    """A thing that is kept in the stores, and how much of it each piece of work uses up."""

    low_at = amount_field(
        label="Runs low at", initial=0, help_text="At this much or less it is on the list."
    )
    width_mm = side_field("Sheet's width")
    height_mm = side_field("Sheet's height")

    class Meta:
        model = Supply
        fields = [
            "name",
            "film",
            "printer",
            "width_mm",
            "height_mm",
            "sealer",
            "low_at",
            "keeps_days",
            "opened_days",
            "note",
        ]
        labels = {
            "keeps_days": "Keeps for, days from purchase",
            "opened_days": "Keeps for, days once opened",
            "film": "Film: white or clear",
            "printer": "For printer",
            "sealer": "Sealer: its kind",
        }

    def __init__(self, *args: Any, kind: SupplyKind, **kwargs: Any) -> None:
        """kind: what it is; the form asks what goes with that, and no more."""
        new = kwargs["instance"].pk is None
        usual = {"keeps_days": KEEPS_DAYS.get(kind), "opened_days": OPENED_DAYS.get(kind)}
        super().__init__(*args, initial=usual if new else None, **kwargs)
        self.instance.kind = kind.value
        self.fields["low_at"].label = f"Runs low at, {kind.counted_in}"
        for name in {name for names in ASKED.values() for name in names} - set(ASKED[kind]):
            del self.fields[name]
        for name in NEEDED.get(kind, ()):
            self.fields[name].required = True
            self.fields[name].error_messages["required"] = "Sheets are taken from it by this."
        known = {} if new else dict(self.instance.uses.values_list("doing", "amount"))
        self.doings = [doing for doing in DOINGS if doing in USES[kind] or doing.value in known]
        for doing in self.doings:
            self.fields[f"use_{doing.value}"] = amount_field(
                label=f"Used each time: {doing.words}, {kind.counted_in}",
                required=False,
                initial=USES[kind].get(doing) if new else known.get(doing.value),
                help_text="Left empty, nothing is taken.",
            )

    @property
    def uses(self) -> dict[Doing, Decimal]:
        """What each piece of work uses up; what is left empty or 0 uses nothing."""
        told = {doing: self.cleaned_data.get(f"use_{doing.value}") for doing in self.doings}
        return {doing: amount for doing, amount in told.items() if amount}


class BuyForm(forms.Form):
    """A purchase."""

    amount = amount_field(label="How much", min_value=Decimal("0.001"))
    price = CommaDecimalField(
        label="Price for all of it",
        required=False,
        min_value=0,
        max_value=MOST_PRICE,
        decimal_places=2,
    )
    batch = forms.CharField(label="Batch", required=False, max_length=60)
    best_before = DayField(label="Best before", required=False)
    at = MomentField(label="When", required=False)
    note = forms.CharField(label="Note", required=False, max_length=200)


class NoteForm(forms.Form):
    """Something opened, used, thrown away or counted."""

    kind = forms.ChoiceField(
        label="What happened",
        choices=[
            (StockLine.Kind.COUNTED, "counted: so much is there"),
            (StockLine.Kind.OPENED, "opened"),
            (StockLine.Kind.USED, "used up"),
            (StockLine.Kind.THROWN, "thrown away"),
        ],
    )
    amount = amount_field(
        label="How much", required=False, help_text="not asked for what is opened"
    )
    at = MomentField(label="When", required=False)
    note = forms.CharField(label="Note", required=False, max_length=200)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        needs = cleaned.get("kind") != StockLine.Kind.OPENED
        if "amount" not in self.errors and cleaned.get("amount") is None:
            cleaned["amount"] = Decimal(0)
            if needs:
                self.add_error("amount", "Say how much.")
        return cleaned


class RulesForm(forms.ModelForm):
    """The workshop's money and its rate."""

    hourly_rate = CommaDecimalField(
        label="Rate for an hour at the bench", min_value=0, max_digits=8, decimal_places=2
    )

    class Meta:
        model = StoresRules
        fields = ["currency", "hourly_rate"]
        labels = {"currency": "Currency, three letters (ISO 4217)"}

    def clean_currency(self) -> str:
        return self.cleaned_data["currency"].upper()
