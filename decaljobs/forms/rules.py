"""Wait rules, as the owner changes them."""

from django import forms

from decaljobs.models import WaitRule


class WaitRuleForm(forms.ModelForm):
    """The figures of one wait and where they come from."""

    class Meta:
        model = WaitRule
        fields = [
            "reference_hours",
            "reference_temperature",
            "reference_humidity",
            "floor_hours",
            "clock",
            "film_forming_minimum",
            "source",
        ]
        labels = {
            "reference_hours": "Reference hours",
            "floor_hours": "Never under, hours",
            "clock": "Counted by",
            "reference_temperature": "Stated at, °C",
            "reference_humidity": "Stated at, % RH",
            "film_forming_minimum": "Stands still under, °C",
            "source": "Where the figures come from",
        }
        help_texts = {
            "reference_hours": "as the product's label says, at the temperature and damp below",
            "film_forming_minimum": "the lowest temperature at which the material forms a film",
        }

    def clean(self) -> dict[str, object]:
        cleaned = super().clean()
        hours, floor = cleaned.get("reference_hours"), cleaned.get("floor_hours")
        if hours and floor is not None and 0 < hours < floor:
            self.add_error("floor_hours", "The floor cannot be longer than the reference hours.")
        return cleaned


class FollowForm(forms.Form):
    """Whether waits that run follow a changed rule."""

    follow = forms.ChoiceField(required=False, choices=[("yes", "yes"), ("no", "no")])

    @property
    def is_answered(self) -> bool:
        return self.is_valid() and bool(self.cleaned_data["follow"])

    @property
    def is_yes(self) -> bool:
        return self.is_answered and self.cleaned_data["follow"] == "yes"


class ProposedForm(forms.Form):
    """Reference hours taken over from a proposal, kept in the address."""

    hours = forms.FloatField(required=False, min_value=0.01, max_value=2000)

    @property
    def initial_hours(self) -> dict[str, float]:
        """What to begin the rule's form with."""
        hours = self.cleaned_data["hours"] if self.is_valid() else None
        return {} if hours is None else {"reference_hours": hours}
