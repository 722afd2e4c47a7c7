"""Database choices made from the craft's words, and the checks that hold them."""

from collections.abc import Iterable
from enum import StrEnum

from django.db import models


def choices_of(words: type[StrEnum]) -> list[tuple[str, str]]:
    """The words of an enumeration as field choices, written as on the bench."""
    return [(word.value, word.value.replace("_", " ")) for word in words]


def one_of(
    field: str, words: Iterable[str], name: str, *, blank: bool = False
) -> models.CheckConstraint:
    """A constraint that keeps a column to these words, or to none of them where it may be blank."""
    known = [str(word) for word in words]
    allowed = ["", *known] if blank else known
    return models.CheckConstraint(condition=models.Q(**{f"{field}__in": allowed}), name=name)


def within(name: str, **bounds: tuple[float, float]) -> models.CheckConstraint:
    """A constraint that keeps columns to their ranges, ends included; an empty one is let be."""
    kept = models.Q()
    for field, (least, most) in bounds.items():
        kept &= models.Q(**{field: None}) | models.Q(
            **{f"{field}__gte": least, f"{field}__lte": most}
        )
    return models.CheckConstraint(condition=kept, name=name)
