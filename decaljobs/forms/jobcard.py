"""Which paper a job card is printed on."""

from django import forms

PAPERS = [("A4", "A4"), ("Letter", "Letter")]


class PaperForm(forms.Form):
    """A4 unless Letter is asked for."""

    paper_size = forms.ChoiceField(label="Paper", choices=PAPERS, required=False)

    @property
    def paper(self) -> str:
        """The paper asked for, or A4 when that makes no sense."""
        self.is_valid()
        return self.cleaned_data.get("paper_size") or "A4"
