"""What the pages of bench hours and minutes take in."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import time
from typing import Any

from django import forms

from decaljobs.craft.doings import AIRBRUSH, LEAST_MINUTES, MOST_MINUTES, Doing
from decaljobs.craft.plan.hours import WeeklyHours, overlapping_hours
from decaljobs.craft.ways import WEEKDAYS
from decaljobs.forms.days import DayField
from decaljobs.forms.moments import hour_of_half
from decaljobs.shown import ways

_STRETCH = re.compile(
    r"(?P<from>[0-9]{1,2})(?:[:.](?P<from_minute>[0-9]{2}))?\s*(?P<from_half>am|pm)?"
    r"\s*(?:-|–|—|to)\s*"
    r"(?P<to>[0-9]{1,2})(?:[:.](?P<to_minute>[0-9]{2}))?\s*(?P<to_half>am|pm)?"
)
EVENING, AFTERNOON = (time(19), time(22)), (time(14), time(18))
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


class HoursField(forms.CharField):
    """Stretches of one day as typed, '9-12, 19:00–22:00', given back as pairs of times."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off"}))
        super().__init__(max_length=100, **kwargs)

    def get_bound_field(self, form: forms.BaseForm, field_name: str) -> forms.BoundField:
        """The field as it stands on a page, told in the reader's own clock."""
        bound = super().get_bound_field(form, field_name)
        bound.help_text = bound.help_text.format(hours=ways().stretch(*AFTERNOON))
        return bound

    def clean(self, value: Any) -> list[tuple[time, time]]:
        text = super().clean(value)
        return [_stretch(words) for words in re.split(r"[,;]", text) if words.strip()]


def how_to() -> str:
    """How hours are written, in the reader's clock."""
    evening = ways().stretch(*EVENING)
    return f"Write hours such as {evening}, with a comma between two stretches."


def _stretch(words: str) -> tuple[time, time]:
    read = _STRETCH.fullmatch(words.strip().casefold())
    try:
        if read is None:
            raise ValueError
        start, end = _clock(read, "from"), _clock(read, "to")
    except ValueError as error:
        raise forms.ValidationError(f"‘{words.strip()[:20]}’ is not read. {how_to()}") from error
    if start == end:
        raise forms.ValidationError("Bench hours must not start and end at the same time.")
    return start, end


def _clock(read: re.Match[str], name: str) -> time:
    hour, minute = int(read[name]), int(read[f"{name}_minute"] or 0)
    half = read[f"{name}_half"] or (_half_before(read) if name == "from" else None)
    if half:
        return time(hour_of_half(hour, half), minute)
    return time(0) if (hour, minute) == (24, 0) else time(hour, minute)


def _half_before(read: re.Match[str]) -> str | None:
    """The half of a start that has none of its own: the end's, or the other.

    '7–10 pm' begins in the evening, '9–1 pm' in the morning.
    """
    half = read["to_half"]
    if half is None or int(read["from"]) > 12:
        return None
    start = (int(read["from"]) % 12, int(read["from_minute"] or 0))
    end = (int(read["to"]) % 12, int(read["to_minute"] or 0))
    return half if start < end else {"am": "pm", "pm": "am"}[half]


class WhoseForm(forms.Form):
    """Whose bench hours are meant; nobody's number means one's own."""

    person = forms.IntegerField(required=False, min_value=1, max_value=2**31 - 1)

    @property
    def asked(self) -> int | None:
        """The person's number, None where none is given or it makes no sense."""
        return self.cleaned_data["person"] if self.is_valid() else None


class WeekForm(forms.Form):
    """The hours of every weekday."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number, day in enumerate(DAYS):
            self.fields[f"day{number}"] = HoursField(label=day, required=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        for sentence in overlapping_hours(self.week, ways()):
            # The first day that it names is where it is mended.
            self.add_error(f"day{WEEKDAYS.index(sentence[:3])}", sentence)
        return cleaned

    @property
    def week(self) -> list[WeeklyHours]:
        return [
            WeeklyHours(number, start, end)
            for number in range(len(DAYS))
            for start, end in self.cleaned_data.get(f"day{number}") or []
        ]


class DayForm(forms.Form):
    """A day that differs from the week."""

    day = DayField(label="Day")
    hours = HoursField(
        label="Extra hours",
        required=False,
        help_text="such as {hours}; left empty, nothing is done on that day",
    )
    note = forms.CharField(label="Note", required=False, max_length=100)

    def clean_hours(self) -> list[tuple[time, time]]:
        hours = self.cleaned_data["hours"]
        if len(hours) > 1:
            raise forms.ValidationError("Write one stretch; add another for the next.")
        return hours

    @property
    def wanted(self) -> dict[str, Any]:
        """What the service takes."""
        starts, ends = next(iter(self.cleaned_data["hours"]), (None, None))
        return {
            "day": self.cleaned_data["day"],
            "starts": starts,
            "ends": ends,
            "note": self.cleaned_data["note"],
        }


class MinutesForm(forms.Form):
    """Minutes of each kind of work; empty leaves them to the log or to what is usual."""

    def __init__(
        self, *args: Any, now: Mapping[Doing, tuple[int | None, str]], **kwargs: Any
    ) -> None:
        """now: for each kind what was set by hand, and what counts now in words."""
        super().__init__(*args, **kwargs)
        for doing, (set_to, words) in now.items():
            self.fields[doing.value] = forms.IntegerField(
                label=f"{doing.words.capitalize()}, minutes",
                required=False,
                min_value=0 if doing in AIRBRUSH else LEAST_MINUTES,
                max_value=MOST_MINUTES,
                initial=set_to,
                help_text=words,
            )

    @property
    def minutes(self) -> dict[Doing, int | None]:
        return {doing: self.cleaned_data.get(doing.value) for doing in Doing}
