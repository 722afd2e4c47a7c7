"""What the plan's pages take in: pins, and what is logged while walking through a session."""

from __future__ import annotations

from typing import Any

from django import forms

from decaljobs.forms.plain import NumbersField, PlainSelect, reason_field

LONGEST_TASK = 40


class TaskForm(forms.Form):
    """Which task of the plan is meant."""

    task = forms.CharField(max_length=LONGEST_TASK)

    @property
    def asked(self) -> str:
        """The task's name; '' where none is given or it makes no sense."""
        return self.cleaned_data["task"] if self.is_valid() else ""


class PinForm(forms.Form):
    """A task held in one of the coming sessions, or let go by the other button."""

    session = forms.ChoiceField(label="Session", widget=PlainSelect)

    def __init__(self, *args: Any, sessions: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["session"].choices = sessions

    @property
    def lets_go(self) -> bool:
        return "let_go" in self.data


class WalkForm(TaskForm):
    """A task that was done, for all of its decals or for those ticked."""

    decal = NumbersField(required=False)
    reason = reason_field("Why before its time")
