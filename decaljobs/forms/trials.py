"""What a colour trial takes in: its paint, its print settings, and the maker's answers."""

from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from decaljobs.craft.colour import format_hex
from decaljobs.craft.photo.load import PhotoRefused, load_photo
from decaljobs.craft.trial.eye import MOST_WORDS, WORDS
from decaljobs.craft.trial.firstguess import colour_in_the_middle
from decaljobs.craft.trial.records import PrintSettings
from decaljobs.forms.colours import ColourField
from decaljobs.forms.pictures import LARGEST_FILE
from decaljobs.models.projects import HEX_COLOUR
from decaljobs.models.trials import Material, Trial


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


def read_upload(upload: UploadedFile) -> bytes:
    """A photo's bytes. Raises ValidationError for one that is too large."""
    if (upload.size or 0) > LARGEST_FILE:
        raise forms.ValidationError("This photo is over 24 MB: send it smaller.")
    return upload.read()


class LikeForm(forms.Form):
    """An earlier trial that a new one starts from."""

    like = forms.ModelChoiceField(Trial.objects.all(), required=False)

    @property
    def trial(self) -> Trial | None:
        """The trial asked for, None when it is not there."""
        self.is_valid()
        return self.cleaned_data.get("like")


class TrialForm(SettingsForm):
    """A new trial: the paint to be matched and a first guess."""

    paint = forms.CharField(label="Paint", max_length=120, help_text="what you call it")
    start = ColourField(
        label="First guess",
        max_length=7,
        validators=[HEX_COLOUR],
        widget=forms.TextInput(attrs={"type": "color"}),
        help_text="the nearest colour you can pick; the first round is wide",
    )
    photo = forms.FileField(
        label="Or a photo to take it from",
        required=False,
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
        help_text="in daylight, the paint filling its middle; its colour goes before the one above",
    )
    field_order = ["paint", "start", "photo", "printer", "material", "quality", "colour_settings"]

    def clean_photo(self) -> str:
        """The colour in the middle of the photo, '' without one."""
        upload = self.cleaned_data["photo"]
        if not upload:
            return ""
        try:
            return format_hex(colour_in_the_middle(load_photo(read_upload(upload))))
        except PhotoRefused as refusal:
            reason = refusal.reason
            raise forms.ValidationError(f"{reason[:1].upper()}{reason[1:]}.") from refusal

    def clean(self) -> dict[str, Any]:
        """A photo goes before the typed colour."""
        kept = super().clean() or self.cleaned_data
        if kept.get("photo"):
            kept["start"] = kept["photo"]
            self.errors.pop("start", None)
        return kept


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
        help_text="the whole sheet with all five square marks, the part on its dots and no lamp or "
        "window mirrored in it, no flash",
    )

    def clean_photo(self) -> bytes:
        return read_upload(self.cleaned_data["photo"])
