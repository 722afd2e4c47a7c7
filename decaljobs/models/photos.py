"""Photos of a project or of one of its decals, each at a step."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from django.db import models
from django.db.models import Q

from decaljobs.craft.stages import Stage
from decaljobs.links import address
from decaljobs.models.choices import choices_of
from decaljobs.models.decals import Decal
from decaljobs.models.people import Person
from decaljobs.models.projects import Project

if TYPE_CHECKING:
    from django.db.models.manager import Manager

LONGEST_CAPTION = 200


class PhotoQuerySet(models.QuerySet["Photo"]):
    def shown(self) -> PhotoQuerySet:
        """Photos that were not removed, oldest first, with their decal."""
        return self.filter(removed_at=None).select_related("decal")

    def removed(self) -> PhotoQuerySet:
        """Photos that were removed and can be put back, last removed first."""
        return self.exclude(removed_at=None).order_by("-removed_at", "-pk")

    def at(self, stage: Stage) -> PhotoQuerySet:
        """Photos that show this stage."""
        return self.filter(stage=stage.value)


class Photo(models.Model):
    """One photo: our own re-encoding, upright, in sRGB, without the camera's notes.

    A removed photo is kept until it is put back or dropped for good.
    """

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="photos")
    decal = models.ForeignKey(
        Decal, null=True, blank=True, on_delete=models.SET_NULL, related_name="photos"
    )
    stage = models.CharField(max_length=14, choices=choices_of(Stage), blank=True)
    caption = models.CharField(max_length=LONGEST_CAPTION, blank=True)
    picture = models.ImageField(upload_to="photos", max_length=120)
    small = models.ImageField(upload_to="photos/small", max_length=120)
    width_px = models.PositiveIntegerField(editable=False)
    height_px = models.PositiveIntegerField(editable=False)
    by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    made_at = models.DateTimeField()
    removed_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects: ClassVar[Manager[Photo]] = PhotoQuerySet.as_manager()

    class Meta:
        ordering = ["made_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(stage="") | Q(stage__in=[stage.value for stage in Stage]),
                name="photo_stage_is_known",
            ),
        ]

    def __str__(self) -> str:
        return self.words

    def get_absolute_url(self) -> str:
        return address("photo", self.pk)

    @property
    def words(self) -> str:
        """What it shows: its caption, or the decal and the stage; fetch the decal beforehand."""
        said = [self.decal.words if self.decal else "", self.stage_words]
        return self.caption or ", ".join(part for part in said if part) or "photo"

    @property
    def stage_words(self) -> str:
        """The stage it shows in the trade's words, '' when none was named."""
        return Stage(self.stage).words if self.stage else ""
