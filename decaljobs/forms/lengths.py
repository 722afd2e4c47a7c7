"""Lengths as they are typed: in millimetres, or in inches by whoever reads them so."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms

from decaljobs.craft.figures import counted
from decaljobs.craft.ways import NO_BREAK
from decaljobs.shown import ways


class LengthField(forms.DecimalField):
    """A length, kept in mm and shown and typed in the reader's unit.

    decimals: those kept in mm. What is shown and sent again unchanged gives the same length.
    """

    def __init__(
        self,
        *,
        label: str,
        least: float,
        most: float,
        decimals: int = 2,
        as_float: bool = False,
        **kwargs: Any,
    ) -> None:
        self.said, self.decimals, self.as_float = label, decimals, as_float
        self.least, self.most = Decimal(str(least)), Decimal(str(most))
        kwargs.setdefault(
            "widget", forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"})
        )
        super().__init__(label=label, **kwargs)

    def get_bound_field(self, form: forms.BaseForm, field_name: str) -> forms.BoundField:
        """The field as it stands on a page, its unit behind its name."""
        self.label = f"{self.said}, {ways().unit}"
        return super().get_bound_field(form, field_name)

    def prepare_value(self, value: Any) -> Any:
        """A length in the reader's unit; what was typed stays as it was typed."""
        if isinstance(value, int | float | Decimal) and not isinstance(value, bool):
            return ways().short(value, self.decimals)
        return value

    def to_python(self, value: Any) -> Decimal | None:
        # A comma before the decimals, as half of Europe types it.
        typed = super().to_python(value.replace(",", ".") if isinstance(value, str) else value)
        if typed is None or not typed.is_finite():
            return typed  # refused by what follows
        mm = typed if isinstance(value, int | float | Decimal) else ways().to_mm(typed)
        if ways().unit == "mm":
            self._check_decimals(mm)
        # So large a figure has no hundredths; it is beyond the range anyway.
        return mm if mm.adjusted() > 12 else mm.quantize(Decimal(1).scaleb(-self.decimals))

    def validate(self, value: Decimal | None) -> None:
        super().validate(value)
        if value is not None and not self.least <= value <= self.most:
            low, high = (ways().short(end, self.decimals) for end in (self.least, self.most))
            raise forms.ValidationError(f"It must be {low} to {high}{NO_BREAK}{ways().unit}.")

    def clean(self, value: Any) -> Any:
        mm = super().clean(value)
        return float(mm) if self.as_float and mm is not None else mm

    def _check_decimals(self, mm: Decimal) -> None:
        exponent = mm.normalize().as_tuple().exponent
        if isinstance(exponent, int) and -exponent > self.decimals:
            many = counted(self.decimals, "decimal")
            raise forms.ValidationError(f"Write it to {many} of a millimetre at most.")
