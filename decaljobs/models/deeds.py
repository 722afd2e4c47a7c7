"""Who did what, when and from which device: what the owner looks through."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from django.db import models

from decaljobs.models.finding import holds_words
from decaljobs.models.people import Person

if TYPE_CHECKING:
    from django.db.models.manager import Manager


class DeedQuerySet(models.QuerySet["Deed"]):
    def newest(self, words: str = "") -> DeedQuerySet:
        """The newest first; only those of a person, a device or a kind, if words are given."""
        return self.filter(holds_words(words, "who", "device", "what", "path")).order_by("-pk")


class Deed(models.Model):
    """One change that a person asked for and was given. The name stays if the person goes."""

    person = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="+")
    who = models.CharField(max_length=150)
    device = models.CharField(max_length=80, blank=True)
    what = models.CharField(max_length=60)
    path = models.CharField(max_length=200)
    at = models.DateTimeField(db_index=True)

    objects: ClassVar[Manager[Deed]] = DeedQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.who}: {self.what}"
