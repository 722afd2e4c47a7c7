"""Which paper a card, a sheet or a table is printed on."""

from django import forms

from decaljobs.craft.units import PAPERS


class PaperForm(forms.Form):
    """A4 unless Letter is asked for."""

    paper_size = forms.ChoiceField(
        label="Paper", choices=[(name, name) for name in PAPERS], required=False
    )

    @property
    def paper(self) -> str:
        """The paper asked for, or A4 when that makes no sense."""
        self.is_valid()
        return self.cleaned_data.get("paper_size") or "A4"
