"""What a service says when it will not do a thing. Nothing has been saved then."""

from datetime import datetime

from django.utils.text import capfirst


class Refused(Exception):
    """The change is refused; the message is one sentence for the maker."""


class TooEarly(Refused):
    """A wait is not over: the step can still be logged if the maker says why.

    ready_at: when the wait is over (UTC), None when it never is in this room.
    """

    def __init__(self, message: str, ready_at: datetime | None) -> None:
        super().__init__(message)
        self.ready_at = ready_at


class BadPicture(Refused):
    """The picture brought along cannot be used."""


class Overtaken(Refused):
    """Somebody else changed the record since the page was drawn."""


def moved_on(what: str, happened: str) -> Overtaken:
    """The refusal of a step that would have been logged a second time."""
    return Overtaken(f"{what} has moved on: {happened}. Nothing was logged twice.")


def as_sentence(problem: Exception) -> str:
    """What a calculation says against something, as a sentence for the maker."""
    return f"{capfirst(str(problem)).rstrip('.')}."
