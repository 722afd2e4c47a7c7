"""The search field that every list has."""

from django import forms


class SearchForm(forms.Form):
    """Words to look for; nonsense is cut to length rather than refused."""

    q = forms.CharField(
        label="Search",
        required=False,
        max_length=100,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
    )

    @property
    def words(self) -> str:
        """What was typed, or nothing when it makes no sense."""
        self.is_valid()
        return self.cleaned_data.get("q", "").replace("\x00", "")
