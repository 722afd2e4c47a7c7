"""Projects and the decals they want, as the maker types them."""

from decimal import Decimal

from django import forms

from decaljobs.craft.stages import Build
from decaljobs.craft.units import ScaleError, format_scale, parse_scale
from decaljobs.forms.colours import ColourField
from decaljobs.forms.days import DayField
from decaljobs.forms.pictures import PictureField
from decaljobs.forms.print_width import PrintWidthForm
from decaljobs.models import Artwork, Project
from decaljobs.models.decals import MOST_DECALS_AT_ONCE


class CodeField(forms.CharField):
    """A short code: however it is typed, it is kept in capitals."""

    def to_python(self, value: object) -> str:
        return super().to_python(value).upper()


class ProjectForm(forms.ModelForm):
    """One model being lettered. The scale is typed as a ratio, as mm to the foot, or by name."""

    scale = forms.CharField(
        label="Scale",
        max_length=30,
        help_text="1:72, 4 mm/ft, or a size such as H0",
    )

    class Meta:
        model = Project
        field_classes = {"code": CodeField, "body_colour": ColourField, "due": DayField}
        fields = [
            "name",
            "code",
            "body_colour",
            "finish",
            "overcoat",
            "due",
            "weight",
            "customer",
            "notes",
        ]
        labels = {
            "body_colour": "Body colour",
            "overcoat": "Overcoat at the end",
            "due": "Due",
            "weight": "How much a late day counts in the plan",
        }
        error_messages = {"code": {"unique": "Another project has this code already."}}
        help_texts = {
            "code": "short, for the job card; left empty, the next free one is taken",
            "customer": "if it is for somebody else",
            "due": "if there is a day",
            "weight": "1 as any other, 5 the most",
        }
        widgets = {
            "body_colour": forms.TextInput(attrs={"type": "color"}),
            "notes": forms.Textarea(attrs={"rows": 4}),
        }

    field_order = [
        "name",
        "scale",
        "body_colour",
        "finish",
        "overcoat",
        "due",
        "weight",
        "customer",
        "code",
        "notes",
    ]

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["code"].required = self.fields["weight"].required = False
        if self.instance.pk:
            self.initial["scale"] = format_scale(self.instance.scale_ratio)

    def clean_scale(self) -> Decimal:
        try:
            ratio = parse_scale(self.cleaned_data["scale"])
        except ScaleError as error:
            raise forms.ValidationError(str(error)) from error
        return Project._meta.get_field("scale_ratio").clean(round(ratio, 4), None)

    def clean_code(self) -> str:
        # An emptied field keeps the code a project has.
        return self.cleaned_data["code"] or self.instance.code

    def clean_weight(self) -> int:
        # An emptied field keeps the weight a project has.
        weight = self.cleaned_data["weight"]
        return self.instance.weight if weight is None else weight

    @property
    def fields_for_project(self) -> dict[str, object]:
        """What the services take, once the form is valid."""
        wanted = dict(self.cleaned_data)
        wanted["scale_ratio"] = wanted.pop("scale")
        return wanted


class DecalsForm(PrintWidthForm):
    """Decals for one place: artwork chosen, or a picture brought along, at the project's scale."""

    place = forms.CharField(
        label="Place", max_length=120, help_text="where it goes: left side, tail, door"
    )
    artwork = forms.ModelChoiceField(
        label="Artwork",
        queryset=Artwork.objects.none(),
        required=False,
        empty_label="the new picture below",
    )
    picture = PictureField(label="New picture", required=False)
    build = forms.ChoiceField(
        label="Build",
        choices=[(build.value, build.words) for build in Build],
        widget=forms.RadioSelect,
        initial=Build.LAMINATED.value,
    )
    count = forms.IntegerField(
        label="How many", min_value=1, max_value=MOST_DECALS_AT_ONCE, initial=1
    )
    note = forms.CharField(label="Note", max_length=200, required=False)

    def __init__(self, *args, project: Project, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.project = project
        self.fields["artwork"].queryset = Artwork.objects.all()

    def scale_ratio(self) -> Decimal:
        return self.project.scale_ratio

    def clean_build(self) -> Build:
        return Build(self.cleaned_data["build"])

    def clean(self) -> dict[str, object]:
        cleaned = super().clean()
        failed = self.errors.keys() & {"artwork", "picture", "width_mm", "prototype_mm"}
        if cleaned.get("artwork") or failed:
            return cleaned
        if not cleaned.get("picture"):
            self.add_error("picture", "Choose artwork above, or a picture here.")
        elif cleaned.get("width_mm") is None:
            self.add_error("width_mm", "Say how wide the art is to be printed.")
        return cleaned
