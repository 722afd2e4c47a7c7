"""Projects and decals from a table: what is pasted or uploaded, and each of its lines."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any, ClassVar

from django import forms
from django.forms.models import construct_instance

from decaljobs.craft.stages import Build
from decaljobs.craft.tables import Line
from decaljobs.craft.textfile import FileRefused, decode
from decaljobs.forms.projects import ProjectForm
from decaljobs.models import Artwork, Finish, Project
from decaljobs.models.decals import MOST_DECALS_AT_ONCE

LARGEST = 512 * 1024  # bytes; a thousand lines have about a fifth of that
MOST_LINES = 1000

PROJECT_COLUMNS = {
    "name": "name",
    "project": "name",
    "code": "code",
    "scale": "scale",
    "scale ratio": "scale",
    "body colour": "body_colour",
    "body color": "body_colour",
    "colour": "body_colour",
    "finish": "finish",
    "overcoat": "overcoat",
    "due": "due",
    "customer": "customer",
    "notes": "notes",
}
DECAL_COLUMNS = {
    "project": "project",
    "project code": "project",
    "place": "place",
    "artwork": "artwork",
    "build": "build",
    "how many": "count",
    "count": "count",
    "out of": "count",
    "number": "number",
    "note": "note",
}
YES, NO = ("yes", "y", "true", "1", "x", "on"), ("no", "n", "false", "0", "-", "off")
_DOTTED = re.compile(r"([0-9]{1,2})\.([0-9]{1,2})\.([0-9]{4})")


class TakeInForm(forms.Form):
    """A table, as a file or pasted; what it holds is kept in the text field."""

    kind = forms.ChoiceField(
        label="What the lines are",
        choices=[("projects", "projects"), ("decals", "decals")],
        widget=forms.RadioSelect,
        initial="projects",
    )
    file = forms.FileField(
        label="File", required=False, allow_empty_file=True, help_text="CSV, up to 1000 lines"
    )
    text = forms.CharField(
        label="Or paste the lines here",
        required=False,
        strip=False,
        max_length=LARGEST,
        widget=forms.Textarea(attrs={"rows": 10, "spellcheck": "false"}),
        help_text="The first line names the columns. Correct a line here and look again.",
    )

    def clean_file(self) -> str:
        """The text of the file, however it was written."""
        file = self.cleaned_data["file"]
        if file is None:
            return ""
        if file.size > LARGEST:
            raise forms.ValidationError(f"The file is larger than {LARGEST // 1024} kB: divide it.")
        try:
            return decode(file.read()).text
        except FileRefused as refusal:
            raise forms.ValidationError(str(refusal)) from refusal

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("file"):
            cleaned["text"] = cleaned["file"]
        elif not cleaned.get("text", "").strip() and not self.errors:
            self.add_error("file", "Choose a file, or paste lines below.")
        return cleaned

    @property
    def wants_saving(self) -> bool:
        """Whether the lines are to be saved, and not only looked at."""
        return "save" in self.data

    @property
    def leaves_bad_out(self) -> bool:
        """Whether the maker has said to save the good lines without the bad ones."""
        return self.data.get("save") == "good"

    @property
    def columns(self) -> dict[str, str]:
        """The headings that are known, and the column each stands for."""
        return PROJECT_COLUMNS if self.cleaned_data["kind"] == "projects" else DECAL_COLUMNS

    @property
    def needed(self) -> tuple[str, ...]:
        """The columns that must be there."""
        projects = self.cleaned_data["kind"] == "projects"
        return ("name", "scale") if projects else ("project", "place", "artwork")


def problems_of(form: forms.Form) -> list[str]:
    """What is wrong with a line, each problem with the name of its column."""
    named = form.fields
    return [
        f"{named[name].label.lower()}: {message}" if name in named else message
        for name, messages in form.errors.items()
        for message in messages
    ]


class ProjectLineForm(ProjectForm):
    """One line of a table of projects."""

    def __init__(self, line: Line, taken: Iterable[str]) -> None:
        self.taken = set(taken)
        super().__init__(_project_data(line.cells))

    def clean_code(self) -> str:
        code = self.cleaned_data["code"]
        if code in self.taken:
            raise forms.ValidationError("Another project has this code already.")
        return code

    def clean(self) -> dict[str, Any]:
        if "overcoat" not in self.errors and self.data["overcoat"] not in ("", "on"):
            self.add_error("overcoat", "Write yes or no.")
        return super().clean()

    def _post_clean(self) -> None:
        """The checks of each column; Django's would ask the database five times a line."""
        exclude = self._get_validation_exclusions()
        project = construct_instance(self, self.instance, self._meta.fields)
        try:
            project.clean_fields(exclude=exclude)
        except forms.ValidationError as error:
            self._update_errors(error)


def _project_data(cells: Mapping[str, str]) -> dict[str, str]:
    wanted = cells.get("overcoat", "").casefold()
    colour = Project._meta.get_field("body_colour").default
    return {
        **cells,
        "body_colour": cells.get("body_colour") or colour,
        "finish": cells.get("finish", "").casefold() or Finish.GLOSS.value,
        "overcoat": "on" if wanted in ("", *YES) else "" if wanted in NO else wanted,
        "due": _DOTTED.sub(r"\3-\2-\1", cells.get("due", "")),
    }


class DecalLineForm(forms.Form):
    """One line of a table of decals. `known` holds what the lines may name."""

    project = forms.CharField(label="Project", max_length=12)
    place = forms.CharField(label="Place", max_length=120)
    artwork = forms.CharField(label="Artwork", max_length=140)
    build = forms.CharField(label="Build", required=False, max_length=40)
    count = forms.IntegerField(
        label="How many", required=False, min_value=1, max_value=MOST_DECALS_AT_ONCE
    )
    number = forms.IntegerField(label="Number", required=False, min_value=1)
    note = forms.CharField(label="Note", required=False, max_length=200)

    builds: ClassVar[dict[str, Build]] = {
        **{build.value: build for build in Build},
        **{build.words: build for build in Build},
        **{build.value.replace("_", " "): build for build in Build},
    }

    def __init__(
        self, line: Line, projects: Mapping[str, Project], art: Mapping[str, list[Artwork]]
    ) -> None:
        self.projects, self.art = projects, art
        super().__init__(dict(line.cells))

    def clean_project(self) -> Project:
        found = self.projects.get(self.cleaned_data["project"].upper())
        if found is None:
            raise forms.ValidationError("No project has this code.")
        return found

    def clean_artwork(self) -> Artwork:
        found = self.art.get(self.cleaned_data["artwork"].casefold(), [])
        if not found:
            raise forms.ValidationError("No artwork is called that: bring it first.")
        if len(found) > 1:
            raise forms.ValidationError(f"{len(found)} drawings are called that: rename one.")
        return found[0]

    def clean_build(self) -> Build:
        said = self.cleaned_data["build"].casefold()
        if said and said not in self.builds:
            raise forms.ValidationError("Write laminated, clear alone or white alone.")
        return self.builds.get(said, Build.LAMINATED)

    @property
    def is_counted_already(self) -> bool:
        """Whether it is 'number 2 of 4' and so on, which the line of number 1 brought."""
        return (self.cleaned_data.get("number") or 1) > 1
