"""Photos as they come from a camera or a folder, and what is said of them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from decaljobs.craft.photo.keptphoto import ReadyPhoto, ready_photo
from decaljobs.craft.pictures import PictureError
from decaljobs.craft.stages import Stage
from decaljobs.forms.pictures import LARGEST_FILE
from decaljobs.models import Photo
from decaljobs.models.photos import LONGEST_CAPTION

MOST_AT_ONCE = 20


class PhotoInput(forms.FileInput):
    """A chooser that takes several pictures, or the camera where the device has one."""

    allow_multiple_selected = True

    def __init__(self, *, camera: bool = False) -> None:
        way = {"capture": "environment", "multiple": False} if camera else {}
        super().__init__(attrs={"accept": "image/*", **way})


class PhotosField(forms.FileField):
    """Several photos, each read with care; a bad one is refused by its name, and all with it."""

    def clean(self, data: list[UploadedFile], initial: object = None) -> list[ReadyPhoto]:
        if len(data or []) > MOST_AT_ONCE:
            raise forms.ValidationError(f"Send at most {MOST_AT_ONCE} photos at once.")
        ready, problems = [], []
        for upload in data or []:
            try:
                ready.append(_ready(upload))
            except PictureError as problem:
                problems.append(f"{upload.name}: {problem}")
        if problems:
            raise forms.ValidationError(problems)
        return ready


def _ready(upload: UploadedFile) -> ReadyPhoto:
    if upload.size is None or upload.size > LARGEST_FILE:
        raise PictureError("This file is over 24 MB: save it smaller.")
    return ready_photo(upload.read())


class WordsForm(forms.Form):
    """What a photo shows: one of the stages there are for it, and words of the maker's own."""

    stage = forms.ChoiceField(label="At the step", required=False)
    caption = forms.CharField(
        label="What it shows",
        max_length=LONGEST_CAPTION,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, *args: Any, stages: Iterable[Stage], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        known = [(stage.value, stage.words) for stage in stages]
        self.fields["stage"].choices = [("", "no step in particular"), *known]

    def clean_stage(self) -> Stage | None:
        stage = self.cleaned_data["stage"]
        return Stage(stage) if stage else None


class PhotosForm(WordsForm):
    """New photos of one thing, from the camera or from a folder, with the same words to all."""

    camera = PhotosField(label="Take a photo", required=False, widget=PhotoInput(camera=True))
    photos = PhotosField(
        label="Choose photos",
        required=False,
        widget=PhotoInput(),
        help_text=f"JPEG, PNG or WEBP, up to {MOST_AT_ONCE} at once with 24 MB in all; what the "
        "camera noted of place and time is left out",
    )
    field_order = ["camera", "photos", "stage", "caption"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, auto_id="photo_%s", **kwargs)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if not self.errors.keys() & {"camera", "photos"} and not self.ready:
            self.add_error("photos", "Take a photo or choose one.")
        elif len(self.ready) > MOST_AT_ONCE:
            self.add_error("photos", f"Send at most {MOST_AT_ONCE} photos at once.")
        return cleaned

    @property
    def ready(self) -> list[ReadyPhoto]:
        """All photos sent, once they are read."""
        return [*self.cleaned_data.get("camera", []), *self.cleaned_data.get("photos", [])]


class CompareForm(forms.Form):
    """Two photos to be looked at side by side."""

    before = forms.TypedChoiceField(label="Before", coerce=int, empty_value=None, required=False)
    after = forms.TypedChoiceField(label="After", coerce=int, empty_value=None, required=False)

    def __init__(self, *args: Any, photos: list[Photo], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [(photo.pk, f"{place}: {photo.words}") for place, photo in enumerate(photos, 1)]
        for name, usual in (("before", "the first"), ("after", "the last")):
            self.fields[name].choices = [("", usual), *choices]

    @property
    def chosen(self) -> dict[str, int | None]:
        """The photos named; what cannot be is as good as nothing named."""
        self.full_clean()
        return {name: self.cleaned_data.get(name) for name in ("before", "after")}
