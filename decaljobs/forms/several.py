"""What is to become of several decals, and what a copied project is called."""

from __future__ import annotations

from django import forms

from decaljobs.craft.stages import Build
from decaljobs.forms.plain import PlainSelect, RecordsField
from decaljobs.forms.projects import CodeField
from decaljobs.models import Artwork, Decal, Project, Room
from decaljobs.models.projects import PROJECT_CODE


class SeveralForm(forms.Form):
    """Ticked decals and what is to be changed about all of them; empty means: stays as it is."""

    decals = RecordsField(
        label="Decals",
        queryset=Decal.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick at least one decal."},
    )
    artwork = forms.ModelChoiceField(
        label="Artwork",
        queryset=Artwork.objects.none(),
        required=False,
        empty_label="stays",
        widget=PlainSelect,
    )
    build = forms.ChoiceField(
        label="Build",
        required=False,
        choices=[("", "stays"), *((build.value, build.words) for build in Build)],
    )
    room = forms.ModelChoiceField(
        label="Carried to the room",
        queryset=Room.objects.none(),
        required=False,
        empty_label="stays",
    )
    place_from = forms.CharField(
        label="In the place, replace", required=False, max_length=120, strip=False
    )
    place_to = forms.CharField(label="by", required=False, max_length=120, strip=False)
    note = forms.CharField(label="Note", required=False, max_length=200)
    queue = forms.BooleanField(label="Queue for the next sheet", required=False)

    def __init__(self, *args, project: Project, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["decals"].queryset = project.decals.select_related("artwork").order_by(
            "place", "number"
        )
        self.fields["artwork"].queryset = Artwork.objects.all()
        self.fields["room"].queryset = Room.objects.all()

    @property
    def choices_ticked(self) -> list[tuple[Decal, bool]]:
        """Every decal of the project, and whether it is ticked."""
        ticked = {str(value) for value in self["decals"].value() or []}
        return [(decal, str(decal.pk) in ticked) for decal in self.fields["decals"].queryset]

    @property
    def wishes(self) -> dict[str, object]:
        """What the services take, once the form is valid."""
        wanted = {name: value for name, value in self.cleaned_data.items() if name != "decals"}
        wanted["build"] = Build(wanted["build"]) if wanted["build"] else None
        return wanted


class CopyForm(forms.Form):
    """The name and code of a project that is begun from another one."""

    name = forms.CharField(label="Name", max_length=120)
    code = CodeField(
        label="Code",
        required=False,
        max_length=12,
        help_text="short, for the job card; left empty, the next free one is taken",
    )

    def clean_code(self) -> str:
        code = self.cleaned_data["code"]
        if code:
            PROJECT_CODE(code)
            if Project.objects.filter(code=code).exists():
                raise forms.ValidationError("Another project has this code already.")
        return code
