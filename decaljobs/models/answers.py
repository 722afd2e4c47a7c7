"""What was answered to a form, so that the same form sent again is answered the same."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from django.db import models

from decaljobs.models.people import Person

if TYPE_CHECKING:
    from django.db.models.manager import Manager


class KeptAnswer(models.Model):
    """The answer to one form that was taken.

    key: made once with the form. asked: a digest of what it asked for, since a page that the
    browser kept may be used for something else with the same key.
    """

    # The unique three below are index enough.
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+", db_index=False)
    key = models.CharField(max_length=40)
    asked = models.CharField(max_length=64)
    at = models.DateTimeField(db_index=True)
    leads_to = models.TextField(blank=True)
    said = models.JSONField(default=list)
    logged = models.JSONField(null=True)

    objects: ClassVar[Manager[KeptAnswer]] = models.Manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["person", "key", "asked"], name="form_answered_once")
        ]

    def __str__(self) -> str:
        return f"answer to form {self.key}"
