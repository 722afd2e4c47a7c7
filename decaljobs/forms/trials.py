"""What a colour trial takes in: its paint, its print settings, and the maker's answers."""

from django import forms

from decaljobs.craft.trialeye import MOST_WORDS, WORDS
from decaljobs.craft.trialrecords import PrintSettings
from decaljobs.forms.colours import ColourField
from decaljobs.forms.pictures import LARGEST_FILE
from decaljobs.models.projects import HEX_COLOUR
from decaljobs.models.trials import Material


class SettingsForm(forms.Form):
    """How a round is printed; rounds with other settings are not compared."""

    printer = forms.CharField(label="Printer", max_length=80)
    material = forms.ChoiceField(label="Printed on", choices=Material.choices)
    quality = forms.CharField(label="Quality set in the driver", max_length=80, required=False)
    colour_settings = forms.CharField(
        label="Colour settings of the driver",
        max_length=80,
        required=False,
        help_text="write them down once and never touch them again",
    )

    @property
    def settings(self) -> PrintSettings:
        """The settings as the trial takes them."""
        kept = self.cleaned_data
        return PrintSettings(
            kept["printer"], kept["material"], kept["quality"], kept["colour_settings"]
        )


class TrialForm(SettingsForm):
    """A new trial: the paint to be matched and a first guess."""

    paint = forms.CharField(label="Paint", max_length=120, help_text="what you call it")
    start = ColourField(
        label="First guess",
        max_length=7,
        validators=[HEX_COLOUR],
        widget=forms.TextInput(attrs={"type": "color"}),
        help_text="picked by eye or from a photo of the model",
    )
    field_order = ["paint", "start", "printer", "material", "quality", "colour_settings"]


def _patch(label: str) -> forms.IntegerField:
    return forms.IntegerField(
        label=label, min_value=1, widget=forms.NumberInput(attrs={"inputmode": "numeric"})
    )


class EyeForm(forms.Form):
    """The best three patches, best first, and how the best is off."""

    best, second, third = _patch("Best patch"), _patch("Second"), _patch("Third")
    off = forms.MultipleChoiceField(
        label="The best patch is, beside the paint,",
        choices=[(word, word) for word in WORDS],
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="one or two words, or none",
    )

    def clean_off(self) -> list[str]:
        words = self.cleaned_data["off"]
        if len(words) > MOST_WORDS:
            raise forms.ValidationError("One or two words say enough.")
        return words

    @property
    def picks(self) -> list[int]:
        """The numbers, best first."""
        return [self.cleaned_data[name] for name in ("best", "second", "third")]


class PhotoForm(forms.Form):
    """A photo of the sheet with the painted part on its place."""

    photo = forms.FileField(
        label="Photo of the sheet",
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
        help_text="the whole sheet with all five square marks, the part on its dots, no flash",
    )

    def clean_photo(self) -> bytes:
        upload = self.cleaned_data["photo"]
        if upload.size > LARGEST_FILE:
            raise forms.ValidationError("This photo is over 24 MB: send it smaller.")
        return upload.read()
