"""What the rooms' pages take in: rooms, readings, moves, and what the chart is drawn for."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms

from decaljobs.craft.climate import COLDEST, WARMEST
from decaljobs.craft.waits import WaitKind
from decaljobs.forms.moments import MomentField
from decaljobs.forms.plain import CommaNumberField
from decaljobs.models import Room
from decaljobs.models.rooms import DRIEST, WETTEST


def _temperature(label: str) -> CommaNumberField:
    return CommaNumberField(label=label, min_value=COLDEST, max_value=WARMEST)


def _humidity(label: str) -> CommaNumberField:
    return CommaNumberField(label=label, min_value=DRIEST, max_value=WETTEST)


class RoomForm(forms.ModelForm):
    """A room and its stated air, used where it was not read."""

    day_temperature = _temperature("By day, °C")
    day_humidity = _humidity("By day, % RH")
    night_temperature = _temperature("By night, °C")
    night_humidity = _humidity("By night, % RH")

    class Meta:
        model = Room
        fields = [
            "name",
            "kind",
            "day_temperature",
            "day_humidity",
            "night_temperature",
            "night_humidity",
        ]
        labels = {"kind": "What it is"}

    def clean_name(self) -> str:
        name = self.cleaned_data["name"]
        if Room.objects.filter(name__iexact=name).exclude(pk=self.instance.pk).exists():
            raise forms.ValidationError(f"There is a room ‘{name}’ already.")
        return name


class ReadingForm(forms.Form):
    """One reading, written down by hand."""

    temperature = _temperature("Temperature, °C")
    humidity = _humidity("Humidity, % RH")
    at = MomentField(label="When it was read", required=False)


class MoveForm(forms.Form):
    """Where something is carried to."""

    room = forms.ChoiceField(label="Carry it to")
    at = MomentField(label="When", required=False)

    def __init__(self, *args: Any, rooms: Sequence[Room], **kwargs: Any) -> None:
        super().__init__(*args, auto_id="move_%s", **kwargs)
        self.rooms = {str(room.pk): room for room in rooms}
        self.fields["room"].choices = [(pk, room.name) for pk, room in self.rooms.items()]

    def clean_room(self) -> Room:
        return self.rooms[self.cleaned_data["room"]]


class MoveDecalForm(MoveForm):
    """Where a decal is carried to, alone or with the whole model."""

    whole = forms.BooleanField(label="with every decal on this model", required=False, initial=True)


class ChartForm(forms.Form):
    """Which room's chart to draw, and for which wait."""

    room = forms.ChoiceField(label="Room", required=False)
    wait = forms.ChoiceField(
        label="Wait", required=False, choices=[(kind.value, kind.words) for kind in WaitKind]
    )

    def __init__(self, *args: Any, rooms: Sequence[Room], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["room"].choices = [(str(room.pk), room.name) for room in rooms]

    def asked(self, name: str, usual: str) -> str:
        """The choice made in a field, the usual one when there is none or it makes no sense."""
        self.is_valid()
        return self.cleaned_data.get(name) or usual
