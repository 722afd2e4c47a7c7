"""What the import pages take in: a file, and how it is to be read."""

from __future__ import annotations

from typing import Any

from django import forms

from decaljobs.craft.room.readings_file import ReadingsLayout
from decaljobs.craft.room.readings_times import TimeFormat
from decaljobs.craft.textfile import SEPARATORS, records
from decaljobs.forms.plain import known_zone

MOST_COLUMNS = 40
LARGEST_MB = 24


class FileForm(forms.Form):
    """A file of readings."""

    file = forms.FileField(
        label="File",
        help_text="CSV: a time, a temperature in °C and a relative humidity in each line",
        allow_empty_file=True,
    )

    def clean_file(self) -> Any:
        file = self.cleaned_data["file"]
        if file.size > LARGEST_MB * 1024 * 1024:
            raise forms.ValidationError(f"The file is larger than {LARGEST_MB} MB: divide it.")
        return file


class LayoutForm(forms.Form):
    """How a file is read."""

    separator = forms.ChoiceField(label="Columns are divided by", choices=SEPARATORS.items())
    decimal = forms.ChoiceField(
        label="Decimals follow a", choices=[(".", "point: 19.5"), (",", "comma: 19,5")]
    )
    time_column = forms.ChoiceField(label="The date and time are in")
    clock_column = forms.ChoiceField(label="The time of day is in", required=False)
    temperature_column = forms.ChoiceField(label="The temperature is in")
    humidity_column = forms.ChoiceField(label="The humidity is in")
    time_format = forms.ChoiceField(
        label="Times are written as", choices=[(form.value, form.words) for form in TimeFormat]
    )
    zone = forms.CharField(
        label="Time zone",
        max_length=60,
        validators=[known_zone],
        help_text="Europe/London, UTC; where none is written",
    )
    first_line = forms.IntegerField(label="Readings begin in line", min_value=1, max_value=100_000)

    def __init__(self, *args: Any, lines: list[str], separator: str, **kwargs: Any) -> None:
        """lines: the first of the file; separator: what divides them until another is chosen."""
        super().__init__(*args, **kwargs)
        chosen = self.data.get("separator", "")
        cells = _widest(lines, chosen if chosen in SEPARATORS else separator)
        shown = [(str(place), _column(place, text)) for place, text in enumerate(cells)]
        shown += [(str(n), _column(n, "")) for n in range(len(cells), MOST_COLUMNS)][:2]
        for name in ("time_column", "temperature_column", "humidity_column"):
            self.fields[name].choices = shown
        self.fields["clock_column"].choices = [("", "the same column"), *shown]

    @property
    def is_only_shown(self) -> bool:
        """Whether the first lines are to be shown anew, and nothing read yet."""
        return "show" in self.data

    @property
    def layout(self) -> ReadingsLayout:
        """The layout, once the form is valid."""
        wanted = self.cleaned_data
        clock = wanted["clock_column"]
        return ReadingsLayout(
            separator=wanted["separator"],
            decimal=wanted["decimal"],
            time_column=int(wanted["time_column"]),
            clock_column=int(clock) if clock else None,
            temperature_column=int(wanted["temperature_column"]),
            humidity_column=int(wanted["humidity_column"]),
            time_format=TimeFormat(wanted["time_format"]),
            first_line=wanted["first_line"],
        )


def _widest(lines: list[str], separator: str) -> list[str]:
    """The cells of the line with the most columns, to name the columns by."""
    cells = [row for _, row in records(lines, separator) if isinstance(row, list)]
    return max(cells, key=len, default=[])


def _column(place: int, text: str) -> str:
    said = text.strip()[:24]
    return f"column {place + 1}: {said}" if said else f"column {place + 1}"
