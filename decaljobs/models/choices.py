"""Database choices made from the craft's words, and the checks that hold them."""

from enum import StrEnum

from django.db import models


def choices_of(words: type[StrEnum]) -> list[tuple[str, str]]:
    """The words of an enumeration as field choices, written as on the bench."""
    return [(word.value, word.value.replace("_", " ")) for word in words]


def one_of(field: str, words: type[StrEnum], name: str) -> models.CheckConstraint:
    """A constraint that keeps a column to the craft's words."""
    return models.CheckConstraint(
        condition=models.Q(**{f"{field}__in": [word.value for word in words]}), name=name
    )
