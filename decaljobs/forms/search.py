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
        return self.asked("q").replace("\x00", "")

    def asked(self, name: str) -> str:
        """What a field asks for; '' when it asks for nothing or makes no sense."""
        self.is_valid()
        return self.cleaned_data.get(name, "")

    @property
    def choices(self) -> list[forms.BoundField]:
        """The fields beside the words: filters and the order."""
        return [field for field in self if field.name != "q"]

    @property
    def is_chosen(self) -> bool:
        """Whether any of them is set."""
        return any(self.asked(field.name) for field in self.choices)

    @property
    def is_asked(self) -> bool:
        """Whether the list shows less than everything."""
        return bool(self.words) or any(self.asked(name) for name in self.fields if name != "sort")
