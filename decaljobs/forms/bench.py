"""What the bench page takes in: what to show, and what to log."""

from __future__ import annotations

import re
from collections.abc import Iterable

from django import forms

from decaljobs.craft.stages import DRIED_STAGES, Layer, Stage
from decaljobs.forms.moments import MomentField
from decaljobs.forms.plain import NumbersField, PlainSelect, reason_field
from decaljobs.forms.search import SearchForm

#: Steps that are logged on a decal from its row, in the order of work.
HAND_STEPS = (Stage.BASE_APPLIED, Stage.CLEAR_APPLIED, Stage.OVERCOATED)
NEXT_STEPS = [stage for stage in Stage if stage is not Stage.PLANNED and stage not in DRIED_STAGES]

#: As many as a page shows in its longest list.
MOST_AT_ONCE = 200

_MORE = f"(?:,[0-9]{{1,12}}){{0,{MOST_AT_ONCE - 1}}}"
_ONE = re.compile(rf"([0-9]{{1,12}}{_MORE}):({'|'.join(HAND_STEPS)})")
_SEEN = re.compile(r"[0-9]{1,9}")


class BenchForm(SearchForm):
    """Which decals to show; kept in the address."""

    project = forms.ChoiceField(label="Project", required=False, widget=PlainSelect)
    layer = forms.ChoiceField(
        label="Layer",
        required=False,
        choices=[("", "base or clear"), *((layer.value, layer.value) for layer in Layer)],
    )
    step = forms.ChoiceField(
        label="Next step",
        required=False,
        choices=[("", "any"), *((step.value, step.words) for step in NEXT_STEPS)],
    )
    field_order = ["project", "layer", "step", "q"]

    def __init__(self, *args, projects: Iterable[tuple[str, str]], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        named = [(code, f"{code} {name}") for code, name in projects]
        self.fields["project"].choices = [("", "all"), *named]


class SeenMixin(forms.Form):
    """A change of several decals, as the page showed them."""

    @property
    def seen(self) -> dict[int, int]:
        """How many log lines the page showed for each decal."""
        shown = {pk: self.data.get(f"seen-{pk}", "") for pk in self.cleaned_data["decal"]}
        return {pk: int(text) for pk, text in shown.items() if _SEEN.fullmatch(text)}


class UndoForm(SeenMixin):
    """What was logged on several decals at one go, taken back at one go."""

    decal = NumbersField()


class LogForm(SeenMixin):
    """A step logged by one button on one row or a batch, or on all rows that are ticked."""

    at = MomentField(label="When it was done", required=False)
    reason = reason_field(
        "Why before its time", help_text="only for a step that the page calls too early"
    )
    decal = NumbersField(required=False)
    step = forms.ChoiceField(
        required=False, choices=[(step.value, step.words) for step in HAND_STEPS]
    )
    one = forms.RegexField(
        _ONE.pattern, required=False, error_messages={"invalid": "That button is not known."}
    )

    def clean(self) -> dict[str, object]:
        cleaned = super().clean()
        if one := _ONE.fullmatch(cleaned.get("one") or ""):
            cleaned["decal"] = [int(number) for number in one[1].split(",")]
            cleaned["step"] = one[2]
        if "decal" in cleaned and not cleaned["decal"]:
            self.add_error(None, "Nothing is ticked: tick the decals that the step was done on.")
        elif not cleaned.get("step") and "step" not in self.errors:
            self.add_error(None, "Press the button of the step that was done.")
        return cleaned

    @property
    def ticked(self) -> set[int]:
        """The rows that were ticked, to be ticked again when the page comes back."""
        return set(self.cleaned_data.get("decal") or []) if self.is_bound else set()
